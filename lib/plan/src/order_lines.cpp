#include <algorithm>
#include <cmath>
#include <tuple>

#include "canal_case.h"

namespace anfract {
namespace {

bool rotates(const Device& device) {
    return device.kind == DeviceKind::RotaryFile || device.kind == DeviceKind::ReciprocatingFile;
}

/// True when the passage ends at that depth, within what the stations of a lumen resolve.
bool reaches(const Passage& passage, double depth_mm) {
    return passage.reaches_mm >= depth_mm - 0.15;
}

std::string strain_words(const Passage& passage) {
    if (passage.peak_strain < 0.001) return "hardly bends";
    return "bends to " + percent_text(passage.peak_strain) + " strain at " +
           mm_text(passage.peak_strain_depth_mm);
}

/// How a steel hand file that the canal bends for good is bent before it goes in.
std::string pre_bend_words(const OrderStep& step) {
    const auto& bend = step.passage.pre_bend;
    if (!bend) return "";
    return "; to lie in the curve without load it is bent beforehand round a radius of " +
           mm_text(bend->bend_to_radius_mm) + ", " + mm_text(bend->from_tip_mm) + " to " +
           mm_text(bend->to_tip_mm) + " from its tip";
}

/// Steel that is bent beyond what an order lets it shape with comes out bent.
std::string kept_bend_words(const OrderStep& step) {
    if (!is_made_of(step.device, NamedMaterial::StainlessSteel) ||
        step.passage.peak_strain < OrderOptions{}.steel_strain_most)
        return "";
    return "; it keeps the bend: bend it beforehand, look at it after each pass and discard it";
}

std::string does_words(const OrderStep& step) {
    if (step.removed_mm3 >= unnoticed_mm3) return "Widens; ";
    return "Follows the way and takes next to nothing, the canal being wider; ";
}

std::string why(const OrderStep& step) {
    std::string bound =
        step.bound_mm > 0.2 ? "; binds along " + mm_text(step.bound_mm) : std::string();
    if (step.passes > 1)
        bound += "; goes in " + std::to_string(step.passes) + " times, cutting a little each time";
    if (step.life_used >= 0.005)
        bound += "; uses " + percent_text(step.life_used, 0) + " of its life at the low estimate";
    switch (step.action) {
        case StepAction::Scout:
            return "Finds the way without apical push; " + strain_words(step.passage) + bound +
                   pre_bend_words(step) + kept_bend_words(step) + ".";
        case StepAction::Open:
            return "Opens the upper part only, so that what follows binds less" + bound + ".";
        case StepAction::Shape:
        case StepAction::Finish:
            return (step.action == StepAction::Finish ? "Final size; " : does_words(step)) +
                   strain_words(step.passage) + bound + pre_bend_words(step) +
                   kept_bend_words(step) + ".";
    }
    return "";
}

}  // namespace

PlanStep line_of(CanalCase& canal, const OrderStep& step) {
    PlanStep line;
    line.device = step.device.id;
    line.kind = step.device.kind;
    line.action = step.action;
    line.depth_mm = step.depth_mm;
    line.stop_setting_mm = stop_setting_mm(step.depth_mm);
    line.why = why(step);
    line.passage = canal.add(step.passage, CanalState::During);
    line.diameter_after_mm = step.diameter_after_mm;
    if (step.wall_left) {
        line.wall_left_mm = step.wall_left->value;
        line.wall_left_depth_mm = step.wall_left->depth_mm;
    }
    line.transport_mm = step.transport.value;
    line.transport_depth_mm = step.transport.depth_mm;
    line.removed_mm3 = std::max(0.0, step.removed_mm3);
    line.untouched_share = step.untouched_share;
    line.passes = step.passes;
    line.bound_mm = step.bound_mm;
    line.life_used = step.life_used;
    line.centring = step.centring;
    return line;
}

namespace {

void write_smallest(CanalCase& canal) {
    SmallestInstrument& smallest = canal.plan.smallest;
    const auto& found = canal.order.smallest;
    if (!found) {
        smallest.sentence = "The tray has no file of enough length in stock.";
        return;
    }
    smallest.device = found->device.id;
    smallest.reaches_mm = found->passage.reaches_mm;
    smallest.passage = canal.add(found->passage, CanalState::Native);
    smallest.reaches_working_depth = reaches(found->passage, canal.plan.working_depth_mm);
    smallest.sentence =
        smallest.reaches_working_depth
            ? name_of(found->device) +
                  " is the smallest in the tray that reaches it in the canal as it is."
            : "In the canal as it is, " + name_of(found->device) + " gets furthest, to " +
                  mm_text(found->passage.reaches_mm) + ", stopped by " +
                  to_string(found->passage.stopped_by) + ".";
}

void write_final(CanalCase& canal) {
    const Order& order = canal.order;
    if (!order.final_step) return;
    const OrderStep& step = order.steps[*order.final_step];
    FinalSize& size = canal.plan.final_size.emplace();
    size.device = step.device.id;
    size.tip_mm = step.device.tip_mm;
    size.taper = step.device.taper;
    size.depth_mm = step.depth_mm;
    size.passage = canal.plan.order[*order.final_step].passage;
    size.limited_by = order.limited_by;
    size.why = only_finds_the_way(canal.plan)
                   ? "Nothing widens this canal within the limits: " + name_of(step.device) +
                         " finds the way and is the last. " + order.limited_why
                   : "Suggested final size: " + name_of(step.device) + ". " + order.limited_why;
    if (rotates(step.device) && step.passage.cycles_to_failure) {
        const double turns = step.passage.cycles_to_failure->low;
        if (turns < 1000) {
            size.why += " In this bend it may stand only " + std::to_string(std::lround(turns)) +
                        " turns: use it once, briefly, and discard it.";
        }
    }
    const double native = diameter_mm_at(canal.native, step.depth_mm);
    if (size.tip_mm < native) {
        size.why += " It does not widen the end of the canal, which is " + mm_text(native, 2) +
                    " wide as it is: cleaning there is left to rinsing.";
    }
}

std::string count_text(std::size_t count) {
    return std::to_string(count) + (count == 1 ? " instrument" : " instruments");
}

std::string risk_text(double risk) {
    const std::string text = mm_text(risk, 2);
    return text.substr(0, text.size() - 3);
}

void write_alternatives(CanalCase& canal) {
    const Order& best = canal.order;
    for (const AlternativeOrder& other : best.alternatives) {
        PlanAlternative line;
        line.kind = other.kind;
        for (const OrderStep& step : other.steps) line.order.push_back(line_of(canal, step));
        const std::string ends = name_of(other.steps.back().device);
        line.sentence = (other.kind == AlternativeOrder::Kind::Brief ? "The brief order takes "
                                                                     : "The gentle order takes ") +
                        (other.steps.size() == best.steps.size()
                             ? "as many instruments"
                             : count_text(other.steps.size()) + " instead of " +
                                   std::to_string(best.steps.size())) +
                        " and ends with " + ends + "; its risk figure is " + risk_text(other.risk) +
                        " instead of " + risk_text(best.risk) + ".";
        canal.plan.alternatives.push_back(std::move(line));
    }
}

}  // namespace

void write_order(CanalCase& canal) {
    write_smallest(canal);
    for (const OrderStep& step : canal.order.steps)
        canal.plan.order.push_back(line_of(canal, step));
    write_final(canal);
    write_alternatives(canal);
    canal.plan.unused = canal.order.unused;
    const Lumen shaped = canal.own(canal.order.shaped);
    for (int i = 0; i < shaped.station_count(); ++i) {
        const double depth = shaped.depth_mm[std::size_t(i)];
        canal.plan.lumen_after.depth_mm.push_back(depth);
        canal.plan.lumen_after.diameter_mm.push_back(diameter_mm_at(shaped, depth));
        std::optional<double> wall;
        for (int j = 0; j < shaped.theta_count(); ++j) {
            const double value = shaped.wall_mm(i, j);
            if (!std::isnan(value) && (!wall || value < *wall)) wall = value;
        }
        canal.plan.lumen_after.wall_min_mm.push_back(wall);
    }
}

Result<void> write_recapitulation(CanalCase& canal) {
    if (!canal.plan.final_size) return {};
    const double depth = canal.plan.working_depth_mm;
    const double finish = canal.plan.final_size->tip_mm;
    // Not larger than the final size, a hundredth apart counting as equal: after a 014 finish a
    // 015, not a 020; and a small file in any case (common practice, no source).
    const double most = std::min(finish, 0.14) + 0.011;
    std::vector<const Device*> files;
    for (const Device& device : canal.tray.devices) {
        if (device.kind == DeviceKind::HandFile && device.stock > 0 && device.tip_mm <= most &&
            device.length_mm >= depth + 2) {
            files.push_back(&device);
        }
    }
    std::sort(files.begin(), files.end(), [](const Device* a, const Device* b) {
        return std::tuple(-a->tip_mm, a->length_mm, a->id) <
               std::tuple(-b->tip_mm, b->length_mm, b->id);
    });
    for (const Device* file : files) {
        Result<Passage> free = canal.rehearsed(*file);
        if (!free && free.error().code == ErrorCode::NotConverged) continue;
        if (!free) return tl::unexpected(free.error());
        if (!reaches(*free, depth)) continue;
        Recapitulation last;
        last.device = file->id;
        last.depth_mm = depth;
        last.stop_setting_mm = stop_setting_mm(depth);
        last.passage = canal.add(std::move(*free), CanalState::Shaped);
        last.why = "Not larger than the final size at its tip, " + mm_text(finish, 2) +
                   "; a larger one would cut again.";
        canal.plan.recapitulation = last;
        return {};
    }
    canal.plan.notes.push_back(
        "No hand file in the tray is small and long enough to check the depth before filling.");
    return {};
}

}  // namespace anfract
