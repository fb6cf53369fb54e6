#include "anfract/passage/passage_file.h"

#include <nlohmann/json.hpp>

namespace anfract {
namespace {

using nlohmann::json;

json vectors_to_json(const std::vector<Vec3>& vectors) {
    json rows = json::array();
    for (const Vec3& v : vectors) rows.push_back({v.x(), v.y(), v.z()});
    return rows;
}

json range_to_json(const CycleRange& range) {
    return {{"low", range.low}, {"median", range.median}, {"high", range.high}};
}

/// What is not there for every device.
void add_details(const Passage& passage, json& value) {
    if (passage.cycles_to_failure) {
        value["cycles_to_failure"] = range_to_json(*passage.cycles_to_failure);
    }
    if (passage.life_used_per_minute) {
        value["life_used_per_minute"] = range_to_json(*passage.life_used_per_minute);
    }
    if (const auto& tip = passage.tip) {
        value["tip"] = {{"clearance_mm", tip->clearance_mm},
                        {"attack_deg", tip->attack_deg},
                        {"side_force_N", tip->side_force_N},
                        {"at_outer_wall", tip->at_outer_wall}};
    }
    if (const auto& torsion = passage.torsion) {
        value["torsion"] = {
            {"bound_mm", torsion->bound_mm},
            {"hysteresis_mNm", torsion->hysteresis_mNm},
            {"fracture_torque_mNm", {torsion->fracture_low_mNm, torsion->fracture_high_mNm}},
            {"share_of_fracture", {torsion->share_low, torsion->share_high}},
            {"cutting_mNm", {torsion->cutting_low_mNm, torsion->cutting_high_mNm}},
            {"lock_mNm", torsion->lock_mNm},
            {"screw_in_N", {torsion->screw_in_low_N, torsion->screw_in_high_N}}};
    }
    if (const auto& bend = passage.pre_bend) {
        value["pre_bend"] = {{"bend_to_radius_mm", bend->bend_to_radius_mm},
                             {"springs_to_radius_mm", bend->springs_to_radius_mm},
                             {"set_radius_mm", bend->set_radius_mm},
                             {"from_tip_mm", {bend->from_tip_mm, bend->to_tip_mm}}};
    }
    if (const auto& back = passage.withdrawal) {
        value["withdrawal"] = {{"from_tip_mm", back->from_tip_mm},
                               {"moment_mNm", back->moment_mNm},
                               {"moment_at_half_mNm", back->moment_at_half_mNm}};
        if (back->set_radius_mm) value["withdrawal"]["set_radius_mm"] = *back->set_radius_mm;
    }
    if (const auto& fit = passage.fit) {
        value["fit"] = {{"reaches_mm", {fit->shallowest_mm, fit->deepest_mm}}};
        if (fit->trim_mm) value["fit"]["trim_mm"] = *fit->trim_mm;
    }
    if (const auto& tug = passage.tug_back) {
        value["tug_back"] = {{"seated_with_N", tug->seated_with_N}, {"force_N", tug->force_N}};
        if (tug->range_N)
            value["tug_back"]["range_N"] = {tug->range_N->first, tug->range_N->second};
    }
    if (const auto& load = passage.buckling) {
        value["buckling"] = {{"outside_N", load->outside_N},
                             {"share_outside", load->share_outside},
                             {"share_inside", load->share_inside}};
    }
}

}  // namespace

std::string to_string(StoppedBy reason) {
    switch (reason) {
        case StoppedBy::Foramen:
            return "foramen";
        case StoppedBy::Width:
            return "width";
        case StoppedBy::Stiffness:
            return "stiffness";
        case StoppedBy::Force:
            return "force";
        case StoppedBy::Buckling:
            return "buckling";
        case StoppedBy::Length:
            return "length";
        case StoppedBy::Strain:
            return "strain";
        case StoppedBy::Unknown:
            return "unknown";
    }
    return "";
}

json passage_to_json(const Passage& passage, bool with_profile) {
    json value{{"canal", passage.canal},
               {"device", passage.device},
               {"access", passage.access == Access::Axial ? "axial" : "straight"},
               {"reaches_mm", passage.reaches_mm},
               {"stopped_by", to_string(passage.stopped_by)},
               {"stopped_at_mm", passage.stopped_at_mm},
               {"limit", passage.limit},
               {"why", passage.why},
               {"stop_setting_mm", passage.stop_setting_mm},
               {"binds", json::array()},
               {"peak_strain", passage.peak_strain},
               {"peak_strain_depth_mm", passage.peak_strain_depth_mm},
               {"push_force_N", passage.push_force_N},
               {"torque_mNm", passage.torque_mNm},
               {"bending_energy_mJ", passage.bending_energy_mJ}};
    for (const auto& [from, to] : passage.binds) value["binds"].push_back({from, to});
    add_details(passage, value);
    if (with_profile) {
        const PassageProfile& profile = passage.profile;
        value["profile"] = {{"depth_mm", profile.depth_mm},
                            {"offset_mm", vectors_to_json(profile.offset_P_mm)},
                            {"strain", profile.strain},
                            {"contact_N_per_mm", profile.contact_N_per_mm},
                            {"contact_toward", vectors_to_json(profile.contact_toward_P)}};
    }
    return value;
}

json passages_to_json(const std::vector<Passage>& passages, const std::string& fdi,
                      bool with_profiles) {
    json document{{"format", "anfract.passages"}, {"version", 1}, {"passages", json::array()}};
    if (!fdi.empty()) document["tooth"] = {{"fdi", fdi}};
    for (const Passage& passage : passages) {
        document["passages"].push_back(passage_to_json(passage, with_profiles));
    }
    return document;
}

}  // namespace anfract
