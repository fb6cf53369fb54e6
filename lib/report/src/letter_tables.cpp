#include "letter_tables.h"

#include <algorithm>
#include <cmath>

#include "anfract/tooth/measures.h"
#include "ruler_lanes.h"

namespace anfract {
namespace {

const char* const dash = "–";

std::string widths(const CanalMeasures& canal) {
    std::string text;
    for (const char* place : {"orifice", "5 mm", "1 mm"}) {
        const auto found = std::find_if(canal.widths.begin(), canal.widths.end(),
                                        [&](const WidthAt& width) { return width.place == place; });
        text += (text.empty() ? "" : " / ") +
                (found == canal.widths.end() ? std::string(dash) : fixed(found->diameter_mm, 2));
    }
    return text;
}

std::string bend(const CanalMeasures& canal) {
    if (canal.least_radius_mm > 50) return "nearly straight";
    return fixed(canal.space.total_curvature_deg, 0) + "° in space, " +
           fixed(canal.clinical.total_curvature_deg, 0) + "° in the clinical view; radius " +
           fixed(canal.least_radius_mm, 1) + " at " + fixed(canal.least_radius_depth_mm, 1) +
           (canal.s_shaped ? "; S-shaped" : "");
}

std::string thinnest_wall(const CanalMeasures& canal) {
    if (!canal.thinnest_wall) return "not known";
    return fixed(canal.thinnest_wall->wall_mm, 2) + " at " +
           fixed(canal.thinnest_wall->depth_mm, 1);
}

std::string depth(const CanalPlan& canal) {
    std::string text = "<b>" + fixed(canal.depth_to_foramen_mm, 1) + "</b>";
    if (canal.depth_sd_mm) text += " ± " + fixed(*canal.depth_sd_mm, 1);
    return text;
}

std::string presence(const CanalPlan& canal) {
    if (!canal.presence) return "not known";
    // Nothing measured is certain.
    if (*canal.presence > 0.99) return "&gt; 99 %";
    return fixed(*canal.presence * 100, 0) + " %";
}

std::string bold(const std::string& text) { return "<b>" + escaped(text) + "</b>"; }

std::string job_words(Job job) {
    switch (job) {
        case Job::Rinse:
            return "rinse";
        case Job::Agitate:
            return "agitate";
        case Job::Dry:
            return "dry";
        case Job::Fit:
            return "fit cone";
        case Job::Compact:
            return "compact";
        case Job::Fill:
            return "inject";
        case Job::Coronal:
            return "coronal third";
    }
    return "";
}

}  // namespace

Table findings_table(const Plan& plan) {
    Table table;
    table.columns = {{"Canal"},
                     {"Depth to foramen, mm", Align::Right},
                     {"Length, mm", Align::Right},
                     {"Width at orifice / 5 / 1 mm short, mm", Align::Left, 92},
                     {"Whole bend; least radius and where, mm", Align::Left, 0, 1},
                     {"Thinnest wall and where, mm", Align::Left, 62},
                     {"Presence", Align::Right}};
    table.columns[1].width_pt = 58;
    const auto measures = measure(plan.tooth);
    if (!measures) return table;
    for (const CanalPlan& planned : plan.canals) {
        const auto canal =
            std::find_if(measures->canals.begin(), measures->canals.end(),
                         [&](const CanalMeasures& one) { return one.canal == planned.canal; });
        if (canal == measures->canals.end()) continue;
        table.rows.push_back({bold(planned.canal), depth(planned), fixed(canal->length_mm, 1),
                              widths(*canal), bend(*canal), thinnest_wall(*canal),
                              presence(planned)});
    }
    return table;
}

Table summary_table(const Plan& plan) {
    Table table;
    table.columns = {{"Canal"},
                     {"Suggested working depth, mm", Align::Right, 70},
                     {"Smallest instrument that gets there", Align::Left, 0, 1},
                     {"Final size", Align::Left, 0, 1},
                     {"Last small file before filling", Align::Left, 0, 1}};
    for (const CanalPlan& canal : plan.canals) {
        const auto named = [&](const std::string& id) {
            return escaped(device_name(plan.tray, id));
        };
        const std::string smallest = canal.smallest.reaches_working_depth && canal.smallest.device
                                         ? named(*canal.smallest.device)
                                         : "none in this tray";
        std::string depth = bold(fixed(canal.working_depth_mm, 1));
        if (canal.ends_at_join) depth += " to the join with " + escaped(canal.ends_at_join->canal);
        const std::string last = !canal.final_size           ? dash
                                 : only_finds_the_way(canal) ? "none widens it"
                                                             : named(canal.final_size->device);
        table.rows.push_back({bold(canal.canal), depth, smallest, last,
                              canal.recapitulation ? named(canal.recapitulation->device) : dash});
    }
    return table;
}

Table order_table(const Plan& plan, const CanalPlan& canal) {
    Table table;
    table.columns = {{""},
                     {"Instrument", Align::Left, 112},
                     {"To depth, mm", Align::Right, 34},
                     {"Stop at, mm", Align::Right, 30},
                     {"Canal then, mm", Align::Right, 34},
                     {"Wall left, mm", Align::Left, 62},
                     {"Why", Align::Left, 0, 1}};
    int number = 0;
    for (const PlanStep& step : canal.order) {
        std::string wall = "not known";
        if (step.wall_left_mm) wall = fixed(*step.wall_left_mm, 2);
        if (step.wall_left_mm && step.wall_left_depth_mm) {
            wall += " at " + fixed(*step.wall_left_depth_mm, 1);
        }
        table.rows.push_back({std::to_string(++number),
                              escaped(device_name(plan.tray, step.device)), fixed(step.depth_mm, 1),
                              bold(fixed(step.stop_setting_mm, 2)),
                              fixed(step.diameter_after_mm, 2), wall, escaped(step.why)});
    }
    return table;
}

Table removal_table(const Plan& plan, const CanalPlan& canal) {
    Table table;
    table.columns = {{""},
                     {"What it takes away", Align::Left, 112},
                     {"Dentine, mm³", Align::Right, 42},
                     {"Wall untouched so far", Align::Right, 52},
                     {"Largest shift of the axis, mm", Align::Left, 70},
                     {"Centring there", Align::Right, 42},
                     {"Thinnest wall left, mm", Align::Left, 0, 1}};
    int number = 0;
    for (const PlanStep& step : canal.order) {
        ++number;
        if (step.removed_mm3 < unnoticed_mm3) continue;
        std::string wall = "not known";
        if (step.wall_left_mm) wall = fixed(*step.wall_left_mm, 2);
        if (step.wall_left_mm && step.wall_left_depth_mm)
            wall += " at " + fixed(*step.wall_left_depth_mm, 1);
        const bool shifts = step.transport_mm >= 0.005;
        table.rows.push_back(
            {std::to_string(number), escaped(device_name(plan.tray, step.device)),
             fixed(step.removed_mm3, 2),
             step.untouched_share ? fixed(*step.untouched_share * 100, 0) + " %" : dash,
             shifts ? fixed(step.transport_mm, 2) + " at " + fixed(step.transport_depth_mm, 1)
                    : "below 0.01",
             step.transport_mm >= 0.015 && step.centring ? fixed(*step.centring * 100, 0) + " %"
                                                         : dash,
             wall});
    }
    return table;
}

Table passive_table(const Plan& plan, const CanalPlan& canal) {
    Table table;
    table.columns = {{"For"},
                     {"Device", Align::Left, 112},
                     {"Goes to, mm", Align::Right, 34},
                     {"Stop at, mm", Align::Right, 30},
                     {"Why", Align::Left, 0, 1}};
    for (const PassiveDevice& passive : canal.passive) {
        if (!passive.chosen) continue;
        table.rows.push_back({job_words(passive.job),
                              escaped(device_name(plan.tray, passive.device)),
                              fixed(passive.reaches_mm, 1), bold(fixed(passive.stop_setting_mm, 2)),
                              escaped(passive.why)});
    }
    return table;
}

}  // namespace anfract
