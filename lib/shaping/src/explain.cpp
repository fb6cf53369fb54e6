#include "explain.h"

#include <algorithm>
#include <cmath>

#include "words.h"

namespace anfract {
namespace {

constexpr std::size_t most_missing = 12;  ///< tried, so that a huge tray does not take all day

bool same_make(const Device& a, const Device& b) {
    return a.kind == b.kind && a.material.index() == b.material.index() &&
           is_made_of(a, NamedMaterial::NitiMartensitic) ==
               is_made_of(b, NamedMaterial::NitiMartensitic);
}

/// "rotary-file 0.25 mm, taper 0.04, heat-treated": its name would say the length it has.
std::string sized(const Device& device) {
    const std::string taper = mm(device.taper, 2);
    return to_string(device.kind) + " " + mm(device.tip_mm, 2) + ", taper " +
           taper.substr(0, taper.size() - 3) +
           (is_made_of(device, NamedMaterial::NitiMartensitic) ? ", heat-treated," : "");
}

/// The shortest length at or above the device's own that is long enough, of those that are made
/// [ISO3630-1, from memory]; 0 when there is none.
double length_made_mm(const Device& device, double needed_mm) {
    for (const double length : {21.0, 25.0, 28.0, 31.0}) {
        if (std::max(device.length_mm, length) >= needed_mm)
            return std::max(device.length_mm, length);
    }
    return 0;
}

}  // namespace

/// True when the search had an instrument of that kind, size and alloy.
bool Explain::stocked(const Device& device) const {
    return std::any_of(candidates_.begin(), candidates_.end(), [&](const Device* other) {
        return same_make(*other, device) &&
               std::abs(other->tip_mm - device.tip_mm) < same_size_mm &&
               std::abs(other->taper - device.taper) < 0.005;
    });
}

std::vector<Device> Explain::lacking(const ShapingState& best) const {
    const double needed = bench_.working_depth_mm() + options_.stop_room_mm;
    std::vector<Device> wanted;
    const auto want = [&](Device device) {
        device.length_mm = length_made_mm(device, needed);
        if (device.length_mm > 0 && !stocked(device)) wanted.push_back(std::move(device));
    };
    for (const Device& device : tray_.devices) {
        const bool gains = final_size_mm(device, options_) > best.size_mm + same_size_mm;
        if (!device.cuts() || !gains || !bench_.widens(best, device)) continue;
        if (device.stock < 1 || device.length_mm < needed) want(device);
        if (is_made_of(device, NamedMaterial::NitiAustenitic) && !device.bending_moment_45deg_mNm) {
            Device treated = device;
            treated.material = NamedMaterial::NitiMartensitic;
            treated.life_used = 0;
            want(treated);
        }
    }
    std::stable_sort(wanted.begin(), wanted.end(), [&](const Device& a, const Device& b) {
        return final_size_mm(a, options_) > final_size_mm(b, options_);
    });
    const auto alike = [](const Device& a, const Device& b) {
        return same_make(a, b) && a.tip_mm == b.tip_mm && a.taper == b.taper;
    };
    wanted.erase(std::unique(wanted.begin(), wanted.end(), alike), wanted.end());
    if (wanted.size() > most_missing) wanted.resize(most_missing);
    return wanted;
}

Result<std::string> Explain::missing(const ShapingState& best) const {
    const std::vector<Device> wanted = lacking(best);
    std::vector<Trial> trials;
    for (const Device& device : wanted) trials.push_back({&best, &device, How::Finish});
    const auto attempts = trials_.run(trials, Trials::Note::No);
    if (!attempts) return tl::unexpected(attempts.error());
    for (std::size_t i = 0; i < wanted.size(); ++i) {
        if (!(*attempts)[i].state) continue;
        const Device& device = wanted[i];
        return "With one " + sized(device) + " of " + mm(device.length_mm, 0) +
               " the canal could be taken further, to a width of " +
               mm(device.diameter_mm_at(3), 2) + " at 3 mm from its end instead of " +
               mm(best.steps.back().device.diameter_mm_at(3), 2) + ".";
    }
    return std::string();
}

Result<void> Explain::limit(const ShapingState& best, Order& order) const {
    std::vector<Trial> trials;
    double next_mm = 0;
    for (const Device* device : candidates_) {
        const double size = final_size_mm(*device, options_);
        if (size <= best.size_mm + same_size_mm || device->tip_mm < best.tip_mm - same_size_mm)
            continue;
        if (trials.empty() || size < next_mm - same_size_mm) {
            trials.clear();
            next_mm = size;
        }
        if (size < next_mm + same_size_mm) trials.push_back({&best, device, How::Finish});
    }
    if (trials.empty()) {
        order.limited_by = SizeLimit::Tray;
        order.limited_why = "The tray has no larger instrument of enough length.";
        return {};
    }
    if (std::all_of(trials.begin(), trials.end(), [&](const Trial& trial) {
            return trial.device->tip_mm > bench_.largest_tip_mm() + same_size_mm;
        })) {
        order.limited_by = SizeLimit::Enough;
        order.limited_why = "Wider is not needed: three sizes above the canal's own width.";
        return {};
    }
    auto attempts = trials_.run(trials);
    if (!attempts) return tl::unexpected(attempts.error());
    std::size_t nearest = 0;
    for (std::size_t i = 1; i < attempts->size(); ++i) {
        const auto key = [&](std::size_t k) {
            return std::pair(bool((*attempts)[k].state), (*attempts)[k].passage.reaches_mm);
        };
        if (key(i) > key(nearest)) nearest = i;
    }
    const Attempt& attempt = (*attempts)[nearest];
    const Device& device = *trials[nearest].device;
    order.limited_by = attempt.state ? SizeLimit::Tray : attempt.limit;
    order.limited_why = "The next larger, " + name_for_people(device) + ", " +
                        (attempt.state ? "would make the order longer than " +
                                             std::to_string(options_.most_steps) + " steps."
                                       : attempt.why + ".");
    return {};
}

}  // namespace anfract
