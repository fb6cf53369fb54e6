#pragma once

#include <cmath>
#include <numbers>
#include <string>

#include "anfract/plan/cautions.h"
#include "anfract/plan/plan.h"
#include "anfract/tray/tray_file.h"

namespace anfract::testing {

/// A made-up canal: straight for a while, then an arc toward `toward`, with plausible widths and
/// walls.
inline Canal canal(const std::string& name, const Vec3& orifice_P, const Vec3& toward,
                   double straight_mm, double radius_mm, double arc_deg, double depth_mm = 9) {
    Canal made;
    made.name = name;
    made.presence = 0.995;
    made.depth_sd_mm = 0.15;
    const double length = straight_mm + radius_mm * arc_deg * std::numbers::pi / 180;
    made.length_mm = length;
    made.depth_to_foramen_mm = depth_mm + length;
    const int count = int(std::ceil(length / 0.2)) + 1;
    WallSheet sheet;
    sheet.theta_count = 8;
    for (int i = 0; i < count; ++i) {
        const double s = length * i / (count - 1);
        const double angle = s > straight_mm ? (s - straight_mm) / radius_mm : 0;
        CanalSample sample;
        sample.depth_mm = depth_mm + s;
        sample.point_P = orifice_P -
                         Vec3(0, 0, std::min(s, straight_mm) + radius_mm * std::sin(angle)) +
                         toward * radius_mm * (1 - std::cos(angle));
        sample.diameter_mm = sample.diameter_short_mm = sample.diameter_long_mm =
            0.75 - 0.55 * s / length;
        sample.diameter_sd_mm = 0.02;
        sample.wall_min_mm =
            1.5 - 0.7 * s / length - 0.25 * std::exp(-std::pow(s / length - 0.4, 2) * 40);
        sample.wall_min_toward = Vec3(0, 1, 0);
        sample.curvature_per_mm = s > straight_mm ? 1 / radius_mm : 0;
        made.samples.push_back(sample);
        sheet.first_direction.emplace_back(0, 1, 0);
        std::vector<double> walls;
        for (int j = 0; j < 8; ++j) {
            walls.push_back(*sample.wall_min_mm + 0.4 * (1 - std::cos(j * std::numbers::pi / 4)));
        }
        sheet.wall_mm.push_back(walls);
    }
    made.orifice_P = made.samples.front().point_P;
    made.foramen_P = made.samples.back().point_P;
    made.wall_sheet = sheet;
    return made;
}

inline Tooth tooth() {
    Tooth made;
    made.fdi = "37";
    made.invented = true;
    made.reference_P = Vec3(0, 0, 30);
    made.scan = ScanFacts{"1.2.3", Vec3(0.12, 0.12, 0.12), 70, 0.28};
    made.canals = {canal("MB", Vec3(2, -2, 21), Vec3(0, 1, 0), 4, 6, 62),
                   canal("ML", Vec3(-2, -2, 21), Vec3(0, 1, 0), 6, 8, 35),
                   canal("D", Vec3(0, 3, 21), Vec3(0, -1, 0), 10, 20, 6)};
    made.findings = {"A second distal canal was looked for and not found."};
    return made;
}

inline Passage passage(const std::string& canal, const std::string& device, double reaches,
                       StoppedBy stopped) {
    Passage made;
    made.canal = canal;
    made.device = device;
    made.reaches_mm = reaches;
    made.stopped_by = stopped;
    made.stop_setting_mm = std::floor(reaches * 2) / 2;
    made.binds = {{reaches - 3.2, reaches - 0.8}};
    made.peak_strain = 0.019;
    made.peak_strain_depth_mm = reaches - 2.5;
    return made;
}

/// Adds one canal's lines with made-up figures, each with a passage of its own.
inline void plan_canal(Plan& plan, const Canal& canal) {
    CanalPlan made;
    made.canal = canal.name;
    made.presence = canal.presence;
    made.depth_to_foramen_mm = canal.depth_to_foramen_mm;
    made.depth_sd_mm = canal.depth_sd_mm;
    made.working_depth_mm = canal.depth_to_foramen_mm - 0.5;
    made.working_depth_why = "Suggested working depth: 0.5 mm short of the foramen.";
    made.smallest.sentence = "Hand file 010 reaches it.";
    made.smallest.device = "hand-010-25";
    made.smallest.reaches_working_depth = true;
    const double depth = made.working_depth_mm;
    const auto line = [&](const std::string& device, double reaches, StoppedBy stopped) {
        plan.passages.push_back(
            {passage(canal.name, device, reaches, stopped), CanalState::During});
        return int(plan.passages.size()) - 1;
    };
    const auto step = [&](const std::string& device, StepAction action, double reaches,
                          double after) {
        PlanStep made_step;
        made_step.device = device;
        made_step.kind = plan.tray.find(device)->kind;
        made_step.action = action;
        made_step.depth_mm = reaches;
        made_step.stop_setting_mm = std::floor(reaches * 2) / 2;
        made_step.why = "Takes little, and follows the canal: bends to 1.2 % strain at " +
                        std::to_string(int(reaches) - 3) + " mm.";
        made_step.passage = line(device, reaches, StoppedBy::Foramen);
        made_step.diameter_after_mm = after;
        made_step.wall_left_mm = 0.93;
        made_step.wall_left_depth_mm = 14.2;
        made.order.push_back(made_step);
    };
    step("hand-008-25", StepAction::Scout, depth, 0.12);
    step("hand-010-25", StepAction::Scout, depth, 0.14);
    step("rotary-025-06-25", StepAction::Open, depth - 5, 0.25);
    step("rotary-014-03-25", StepAction::Finish, depth, 0.17);
    made.final_size = FinalSize{"rotary-014-03-25",
                                0.14,
                                0.03,
                                depth,
                                3,
                                SizeLimit::Strain,
                                "Final size 014/.03: one larger would strain beyond its limit."};
    made.recapitulation = Recapitulation{"hand-015-25", depth, std::floor(depth * 2) / 2, 0,
                                         "Not larger than the final apical size of 0.17 mm."};
    const auto passive = [&](Job job, const std::string& device, double reaches,
                             StoppedBy stopped) {
        PassiveDevice made_device;
        made_device.job = job;
        made_device.device = device;
        made_device.kind = plan.tray.find(device)->kind;
        made_device.reaches_mm = reaches;
        made_device.stop_setting_mm = std::floor(reaches * 2) / 2;
        made_device.stopped_by = stopped;
        made_device.chosen = true;
        made_device.why = "Ends there because of " + to_string(stopped) + ".";
        made_device.passage = line(device, reaches, stopped);
        made.passive.push_back(made_device);
    };
    passive(Job::Rinse, "cannula-31g-niti-25", depth - 3, StoppedBy::Width);
    passive(Job::Dry, "paper-015-02", depth - 0.2, StoppedBy::Foramen);
    passive(Job::Fit, "cone-015-02", depth - 0.5, StoppedBy::Width);
    passive(Job::Compact, "plugger-niti-030", depth - 5, StoppedBy::Strain);
    for (const CanalSample& sample : canal.samples) {
        made.lumen_after.depth_mm.push_back(sample.depth_mm);
        made.lumen_after.diameter_mm.push_back(sample.diameter_mm + 0.1);
        made.lumen_after.wall_min_mm.push_back(*sample.wall_min_mm - 0.05);
    }
    made.notes = {"No instrument in the tray is smaller than 006."};
    plan.canals.push_back(made);
}

/// A plan with made-up figures, for drawing and writing; it was not computed.
inline Plan plan(Tooth from = tooth()) {
    Plan made;
    made.invented = from.invented;
    made.tooth = std::move(from);
    made.tray = generic_tray();
    for (const Canal& canal : made.tooth.canals) plan_canal(made, canal);
    made.warnings = {
        {"Bends sharply: scout with the smallest files and no apical push.",
         "Radius 6.0 mm, 62 degrees in all.", "MB", 15.0, 2, std::nullopt},
        {"Keep away from the inner wall.", "Thinnest wall 0.80 mm.", "MB", 20.1, 1, std::nullopt}};
    made.basis = {{"Working depth", "foramen minus 0.5 mm", "common practice, no source"},
                  {"Wall left", "at least 0.3 mm", "Lim & Stock 1987, from memory"}};
    made.cautions = plan_cautions();
    return made;
}

}  // namespace anfract::testing
