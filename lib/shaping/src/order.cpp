#include "anfract/shaping/order.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "anfract/base/parallel.h"
#include "attempt.h"
#include "candidates.h"
#include "ledger.h"
#include "words.h"

namespace anfract {
namespace {

constexpr double same_size_mm = 0.005;
constexpr double largest_scout_mm = 0.105;  ///< hand files 006, 008 and 010

using Candidates = std::vector<const Device*>;

/// One thing to try: which state, which instrument, how.
struct Trial {
    const ShapingState* state = nullptr;
    const Device* device = nullptr;
    bool open = false;
};

class OrderSearch {
  public:
    OrderSearch(const Lumen& native, const Tray& tray, const OrderOptions& options, double depth_mm,
                const Progress& progress)
        : tray_(tray),
          options_(options),
          bench_(native, options_, depth_mm),
          shortlist_(cutting_candidates(tray, depth_mm, options.stop_room_mm)),
          candidates_(shortlist_.devices),
          progress_(progress) {}

    Result<Order> run() {
        ShapingState start;
        start.lumen = bench_.native();
        if (auto found = find_smallest(start); !found) return tl::unexpected(found.error());
        Result<ShapingState> scouted = scout(start);
        if (!scouted) return tl::unexpected(scouted.error());
        Result<ShapingState> best = widen(*scouted);
        if (!best) return tl::unexpected(best.error());
        return finish(std::move(*best));
    }

  private:
    /// All attempts in parallel, each in its own slot, so that their order never depends on
    /// threads.
    Result<std::vector<Attempt>> try_all(const std::vector<Trial>& trials) {
        std::vector<Result<Attempt>> slots(trials.size(), Attempt{});
        parallel_for(trials.size(), options_.threads, [&](std::size_t begin, std::size_t end) {
            for (std::size_t i = begin; i < end && !progress_.cancelled(); ++i) {
                const Trial& trial = trials[i];
                slots[i] = trial.open ? bench_.open(*trial.state, *trial.device)
                                      : bench_.finish(*trial.state, *trial.device);
            }
        });
        if (progress_.cancelled()) return fail(ErrorCode::Cancelled, "planning was stopped");
        std::vector<Attempt> attempts;
        for (auto& slot : slots) {
            if (slot) {
                attempts.push_back(std::move(*slot));
            } else if (slot.error().code == ErrorCode::NotConverged) {
                // An instrument the solver cannot place is not one to recommend.
                attempts.push_back({});
                attempts.back().why = slot.error().what;
            } else {
                return tl::unexpected(slot.error());
            }
        }
        for (std::size_t i = 0; i < attempts.size(); ++i)
            ledger_.note_attempt(*trials[i].device, *trials[i].state, attempts[i], trials[i].open);
        return attempts;
    }

    /// The first instrument that reaches the working depth in the untouched canal, from the
    /// smallest up.
    Result<void> find_smallest(const ShapingState& start) {
        for (const Device* device : candidates_) {
            if (progress_.cancelled()) return fail(ErrorCode::Cancelled, "planning was stopped");
            Result<Passage> passage = bench_.rehearsed(start, *device);
            if (!passage && passage.error().code == ErrorCode::NotConverged) continue;
            if (!passage) return tl::unexpected(passage.error());
            const bool reaches = bench_.arrives(*passage);
            if (reaches || !smallest_ ||
                passage->reaches_mm > smallest_->passage.reaches_mm + 1e-9) {
                smallest_ = Reach{*device, std::move(*passage)};
            }
            if (reaches) {
                reached_natively_ = true;
                break;
            }
            // Larger ones would only be stopped higher up.
            if (device->tip_mm > 0.155) break;
        }
        return {};
    }

    Candidates scouts() const {
        Candidates found;
        for (const Device* device : candidates_) {
            if (device->kind == DeviceKind::HandFile && device->tip_mm < largest_scout_mm) {
                found.push_back(device);
            }
        }
        // A wide canal that hardly bends needs no finer file than the largest scout.
        const bool wide = diameter_mm_at(bench_.native(), bench_.working_depth_mm()) >= 0.20 &&
                          sharpest_bend_per_mm(bench_.native()).value < 1.0 / 8;
        if (wide && found.size() > 1) found.erase(found.begin(), found.end() - 1);
        return found;
    }

    /// Small hand files in turn; where none gets down, the upper part is opened and they are tried
    /// again.
    Result<ShapingState> scout(ShapingState state) {
        for (int round = 0; round <= 2; ++round) {
            for (const Device* device : scouts()) {
                auto attempts = try_all({{&state, device, false}});
                if (!attempts) return tl::unexpected(attempts.error());
                if (attempts->front().state) state = std::move(*attempts->front().state);
            }
            if (state.tip_mm > 0 || scouts().empty()) return state;
            Result<ShapingState> opened = open_best(state);
            if (!opened) return tl::unexpected(opened.error());
            if (opened->opens == state.opens) return state;
            state = std::move(*opened);
        }
        return state;
    }

    bool opens_well(const Device& device) const {
        return device.taper >= 0.035 && device.taper <= options_.enough_taper + 1e-9;
    }

    /// The opening that removes most for its risk; the state unchanged when there is none.
    Result<ShapingState> open_best(const ShapingState& state) {
        std::vector<Trial> trials;
        for (const Device* device : candidates_) {
            if (opens_well(*device) && !used(state, *device))
                trials.push_back({&state, device, true});
        }
        auto attempts = try_all(trials);
        if (!attempts) return tl::unexpected(attempts.error());
        const ShapingState* best = nullptr;
        const auto gain = [&](const ShapingState& s) {
            return s.steps.back().removed_mm3 / (0.2 + s.risk - state.risk);
        };
        for (const Attempt& attempt : *attempts) {
            if (attempt.state && (!best || gain(*attempt.state) > gain(*best)))
                best = &*attempt.state;
        }
        return best ? *best : state;
    }

    static bool used(const ShapingState& state, const Device& device) {
        return std::any_of(state.steps.begin(), state.steps.end(),
                           [&](const OrderStep& step) { return step.device.id == device.id; });
    }

    double largest_tip_mm() const {
        return diameter_mm_at(bench_.native(), bench_.working_depth_mm()) +
               options_.enough_wider_mm;
    }

    /// True when the instrument would be a step up from where the state is.
    bool widens(const ShapingState& state, const Device& device) const {
        if (device.taper > options_.enough_taper + 1e-9 || used(state, device)) return false;
        if (device.tip_mm > largest_tip_mm() + same_size_mm) return false;
        const bool larger = device.tip_mm > state.tip_mm + same_size_mm;
        const bool steeper =
            device.tip_mm > state.tip_mm - same_size_mm && device.taper > state.taper + 0.005;
        // More than a tenth of a millimetre at once is no step but a leap.
        return (larger || steeper) && device.tip_mm < state.tip_mm + 0.105;
    }

    std::vector<Trial> trials_from(const std::vector<ShapingState>& beam) const {
        std::vector<Trial> trials;
        for (const ShapingState& state : beam) {
            for (const Device* device : candidates_) {
                if (widens(state, *device)) trials.push_back({&state, device, false});
                if (state.opens == 0 && opens_well(*device) && !used(state, *device)) {
                    trials.push_back({&state, device, true});
                }
            }
        }
        return trials;
    }

    /// Of each size, opened or not, the least risky; then the largest sizes.
    std::vector<ShapingState> pruned(std::vector<Attempt> attempts) const {
        std::map<std::tuple<long, long, int>, ShapingState> best;
        for (Attempt& attempt : attempts) {
            if (!attempt.state) continue;
            const auto key =
                std::tuple(std::lround(attempt.state->tip_mm * 1000),
                           std::lround(attempt.state->taper * 1000), attempt.state->opens);
            const auto known = best.find(key);
            if (known == best.end()) {
                best.emplace(key, std::move(*attempt.state));
            } else if (attempt.state->risk < known->second.risk) {
                known->second = std::move(*attempt.state);
            }
        }
        std::vector<ShapingState> beam;
        for (auto& [key, state] : best) beam.push_back(std::move(state));
        std::stable_sort(beam.begin(), beam.end(),
                         [](const ShapingState& a, const ShapingState& b) {
                             // An opened canal has not grown at its end but will bear more: it
                             // counts a size larger.
                             const double opened = 0.05;
                             return a.size_mm + opened * a.opens - 0.01 * a.risk >
                                    b.size_mm + opened * b.opens - 0.01 * b.risk;
                         });
        if (beam.size() > std::size_t(options_.beam_width))
            beam.resize(std::size_t(options_.beam_width));
        return beam;
    }

    Result<ShapingState> widen(ShapingState start) {
        ShapingState best = start;
        if (start.tip_mm == 0 && !scouts().empty()) return best;  // nothing gets down
        std::vector<ShapingState> beam{std::move(start)};
        for (int step = 0; step < options_.most_steps && !beam.empty(); ++step) {
            auto attempts = try_all(trials_from(beam));
            if (!attempts) return tl::unexpected(attempts.error());
            for (const Attempt& attempt : *attempts) {
                if (!attempt.state) continue;
                const ShapingState& state = *attempt.state;
                if (state.steps.back().action == StepAction::Open) continue;
                ledger_.note_order(state);
                if (rank_of(state) < rank_of(best)) best = state;
            }
            beam = pruned(std::move(*attempts));
            progress_.report(double(step + 1) / options_.most_steps, "ordering the instruments");
        }
        return best;
    }

    Result<Order> finish(ShapingState best) {
        Order order;
        order.working_depth_mm = bench_.working_depth_mm();
        order.smallest = smallest_;
        order.reached = reached_natively_ || best.tip_mm > 0;
        if (best.tip_mm > 0) {
            order.final_step = best.steps.size() - 1;
            if (auto said = say_limit(best, order); !said) return tl::unexpected(said.error());
            best.steps.back().action = StepAction::Finish;
        }
        if (best.tip_mm > 0) order.alternatives = ledger_.alternatives(best);
        if (best.tip_mm > 0) {
            auto missing = say_missing(best);
            if (!missing) return tl::unexpected(missing.error());
            order.missing = std::move(*missing);
        }
        order.unused = ledger_.unused(best, shortlist_, largest_tip_mm(), options_);
        order.risk = best.risk;
        order.steps = std::move(best.steps);
        order.shaped = std::move(best.lumen);
        if (auto held = bench_.hold_steps(order.steps); !held) return tl::unexpected(held.error());
        for (AlternativeOrder& other : order.alternatives) {
            if (auto held = bench_.hold_steps(other.steps); !held)
                return tl::unexpected(held.error());
        }
        return order;
    }

    /// Tries what the stock lacks, at the length it would need, after the best order.
    Result<std::string> say_missing(const ShapingState& best) {
        const double needed = bench_.working_depth_mm() + options_.stop_room_mm;
        std::vector<Device> wanted;
        for (const Device& device : tray_.devices) {
            const bool lacking = device.cuts() && (device.stock < 1 || device.length_mm < needed);
            const bool gains = final_size_mm(device, options_) > best.size_mm + same_size_mm;
            if (!lacking || !gains || !widens(best, device) || stocked(device)) continue;
            Device longer = device;
            // Lengths that are made [ISO3630-1, from memory].
            for (const double length : {21.0, 25.0, 28.0, 31.0}) {
                longer.length_mm = std::max(device.length_mm, length);
                if (longer.length_mm >= needed) break;
            }
            if (longer.length_mm >= needed) wanted.push_back(longer);
        }
        std::stable_sort(wanted.begin(), wanted.end(), [&](const Device& a, const Device& b) {
            return final_size_mm(a, options_) > final_size_mm(b, options_);
        });
        constexpr std::size_t most = 12;  // so that a huge tray does not take all day
        if (wanted.size() > most) wanted.resize(most);
        std::vector<Trial> trials;
        for (const Device& device : wanted) trials.push_back({&best, &device, false});
        const auto attempts = try_all(trials);
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

    /// "rotary-file 0.25 mm, taper 0.04": its name would say the length it has.
    static std::string sized(const Device& device) {
        const std::string taper = mm(device.taper, 2);
        return to_string(device.kind) + " " + mm(device.tip_mm, 2) + ", taper " +
               taper.substr(0, taper.size() - 3);
    }

    /// True when the search had an instrument of that size.
    bool stocked(const Device& device) const {
        return std::any_of(candidates_.begin(), candidates_.end(), [&](const Device* other) {
            return other->kind == device.kind &&
                   std::abs(other->tip_mm - device.tip_mm) < same_size_mm &&
                   std::abs(other->taper - device.taper) < 0.005;
        });
    }

    /// What the next larger size would run into: of its tapers and kinds the one that gets
    /// furthest.
    Result<void> say_limit(const ShapingState& best, Order& order) {
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
            if (size < next_mm + same_size_mm) trials.push_back({&best, device, false});
        }
        if (trials.empty()) {
            order.limited_by = SizeLimit::Tray;
            order.limited_why = "The tray has no larger instrument of enough length.";
            return {};
        }
        if (std::all_of(trials.begin(), trials.end(), [&](const Trial& trial) {
                return trial.device->tip_mm > largest_tip_mm() + same_size_mm;
            })) {
            order.limited_by = SizeLimit::Enough;
            order.limited_why = "Wider is not needed: three sizes above the canal's own width.";
            return {};
        }
        auto attempts = try_all(trials);
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

    const Tray& tray_;
    OrderOptions options_;
    Bench bench_;
    Shortlist shortlist_;
    const Candidates& candidates_;
    Ledger ledger_;
    const Progress& progress_;
    std::optional<Reach> smallest_;
    bool reached_natively_ = false;
};

}  // namespace

Result<Order> find_order(const Lumen& native, const Tray& tray, const OrderOptions& options,
                         const Progress& progress) {
    if (auto usable = check_lumen(native); !usable) return tl::unexpected(usable.error());
    const double depth =
        options.working_depth_mm > 0 ? options.working_depth_mm : native.depth_mm.back() - 0.5;
    if (depth <= native.depth_mm.front()) {
        return fail(ErrorCode::BadInput, "the working depth lies above the canal's orifice",
                    native.canal);
    }
    return OrderSearch(native, tray, options, depth, progress).run();
}

}  // namespace anfract
