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
    if (passage.cycles_to_failure) {
        const CycleRange& cycles = *passage.cycles_to_failure;
        value["cycles_to_failure"] = {
            {"low", cycles.low}, {"median", cycles.median}, {"high", cycles.high}};
    }
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
