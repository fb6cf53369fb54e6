#include <cmath>

#include "canal_case.h"

namespace anfract {
namespace {

/// Deepest place that a step of the order goes to; none without steps.
const PlanStep* deepest(const CanalPlan& plan) {
    const PlanStep* found = nullptr;
    for (const PlanStep& step : plan.order) {
        if (!found || step.depth_mm > found->depth_mm) found = &step;
    }
    return found;
}

std::string what_stops(const CanalCase& canal) {
    const auto& found = canal.order.smallest;
    if (!found) {
        return "No instrument in stock is long enough for " + mm_text(canal.plan.working_depth_mm) +
               " and 2 mm for its stop";
    }
    std::string said =
        "No instrument in the tray reaches the working depth; in the canal as it is " +
        name_of(found->device) + " gets furthest and stops at " +
        mm_text(found->passage.reaches_mm) + " because of " + to_string(found->passage.stopped_by);
    if (!found->passage.why.empty()) said += " (" + found->passage.why + ")";
    return said;
}

/// Hand files of standard sizes and lengths [ISO3630-1, from memory], the least unusual first.
std::vector<Device> hand_files(double least_length_mm) {
    std::vector<Device> files;
    for (const double length : {25.0, 28.0, 31.0}) {
        for (const double tip : {0.10, 0.08, 0.06}) {
            if (length < least_length_mm) continue;
            Device file;
            file.kind = DeviceKind::HandFile;
            file.material = NamedMaterial::StainlessSteel;
            file.section = Section{"square", 0.4244};
            file.tip_mm = tip;
            file.taper = 0.02;
            file.working_part_mm = 16;
            file.length_mm = length;
            file.id = "hand file 0" + std::string(tip < 0.1 ? "0" : "") +
                      std::to_string(std::lround(tip * 100));
            files.push_back(file);
        }
    }
    return files;
}

/// True when the search had a file of that size and kind that is long enough.
bool stocked(const CanalCase& canal, const Device& file) {
    for (const Device& device : canal.tray.devices) {
        if (device.kind == file.kind && device.stock > 0 && device.length_mm <= file.length_mm &&
            device.length_mm >= canal.plan.working_depth_mm + OrderOptions{}.stop_room_mm &&
            std::abs(device.tip_mm - file.tip_mm) < 0.005 &&
            std::abs(device.taper - file.taper) < 0.005) {
            return true;
        }
    }
    return false;
}

/// The one hand file that would get down; empty when none would.
Result<std::string> one_item(const CanalCase& canal, const OrderOptions& options,
                             const Progress& progress) {
    for (const Device& file : hand_files(canal.plan.working_depth_mm + options.stop_room_mm)) {
        if (stocked(canal, file)) continue;
        Tray with = canal.tray;
        with.devices.push_back(file);
        const auto order = find_order(canal.native, with, options, progress);
        if (!order) return tl::unexpected(order.error());
        if (!order->final_step) continue;
        const Device& last = order->steps[*order->final_step].device;
        return "; one item that would change this: " + file.id + ", " +
               std::to_string(int(file.length_mm)) + " mm." +
               (last.id == file.id ? ""
                                   : " With it the canal could be taken to " + name_of(last) + ".");
    }
    return std::string();
}

/// What could be done down to where the order ends; empty when the canal is not entered.
Result<std::string> lesser_depth(const CanalCase& canal, OrderOptions options,
                                 const Progress& progress) {
    const PlanStep* const last = deepest(canal.plan);
    if (!last) return std::string();
    std::string said = "As planned a file gets to " + mm_text(last->depth_mm) + ", " +
                       mm_text(canal.plan.working_depth_mm - last->depth_mm) +
                       " short: take a radiograph there before trying on, with a lubricant that "
                       "chelates, a new file and no apical push.";
    options.working_depth_mm = std::floor(last->depth_mm * 4) / 4;
    if (options.working_depth_mm <= canal.native.depth_mm.front() + 1) return said;
    const auto order = find_order(canal.native, canal.tray, options, progress);
    if (!order) return tl::unexpected(order.error());
    if (order->final_step && order->steps[*order->final_step].device.id != last->device) {
        said += " To a depth of " + mm_text(options.working_depth_mm, 2) +
                " the canal could be taken to " + name_of(order->steps[*order->final_step].device) +
                "; plan it with that depth as measured to see the order.";
    }
    return said;
}

}  // namespace

Result<void> write_missing(CanalCase& canal, const OrderOptions& options,
                           const Progress& progress) {
    if (!canal.order.missing.empty()) canal.plan.notes.push_back(canal.order.missing);
    if (canal.plan.final_size) return {};
    const auto item = one_item(canal, options, progress);
    if (!item) return tl::unexpected(item.error());
    canal.plan.notes.push_back(
        what_stops(canal) +
        (item->empty() ? "; no single hand file down to 006 would change this." : *item));
    const auto lesser = lesser_depth(canal, options, progress);
    if (!lesser) return tl::unexpected(lesser.error());
    if (!lesser->empty()) canal.plan.notes.push_back(*lesser);
    return {};
}

}  // namespace anfract
