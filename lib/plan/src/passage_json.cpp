#include "passage_json.h"

#include <nlohmann/json.hpp>

namespace anfract {
namespace {

using nlohmann::json;

std::vector<Vec3> vectors_from(const json& rows) {
    std::vector<Vec3> vectors;
    for (const json& row : rows) {
        vectors.emplace_back(row.at(0).get<double>(), row.at(1).get<double>(),
                             row.at(2).get<double>());
    }
    return vectors;
}

StoppedBy reason_from(const std::string& word) {
    for (StoppedBy reason :
         {StoppedBy::Foramen, StoppedBy::Width, StoppedBy::Stiffness, StoppedBy::Force,
          StoppedBy::Buckling, StoppedBy::Length, StoppedBy::Strain}) {
        if (to_string(reason) == word) return reason;
    }
    return StoppedBy::Width;  // the schema lets no other word through
}

PassageProfile profile_from(const json& value) {
    PassageProfile profile;
    profile.depth_mm = value.at("depth_mm").get<std::vector<double>>();
    profile.offset_P_mm = vectors_from(value.at("offset_mm"));
    profile.strain = value.at("strain").get<std::vector<double>>();
    profile.contact_N_per_mm = value.at("contact_N_per_mm").get<std::vector<double>>();
    profile.contact_toward_P = vectors_from(value.at("contact_toward"));
    return profile;
}

}  // namespace

Passage passage_from_json(const json& value) {
    Passage passage;
    passage.canal = value.at("canal");
    passage.device = value.at("device");
    passage.access = value.at("access") == "straight" ? Access::Straight : Access::Axial;
    passage.reaches_mm = value.at("reaches_mm");
    passage.stopped_by = reason_from(value.at("stopped_by"));
    passage.stopped_at_mm = value.value("stopped_at_mm", passage.reaches_mm);
    passage.limit = value.value("limit", 0.0);
    passage.why = value.value("why", "");
    passage.stop_setting_mm = value.at("stop_setting_mm");
    for (const json& range : value.at("binds"))
        passage.binds.emplace_back(range.at(0), range.at(1));
    passage.peak_strain = value.at("peak_strain");
    passage.peak_strain_depth_mm = value.value("peak_strain_depth_mm", 0.0);
    passage.push_force_N = value.at("push_force_N");
    passage.torque_mNm = value.value("torque_mNm", 0.0);
    passage.bending_energy_mJ = value.value("bending_energy_mJ", 0.0);
    if (value.contains("cycles_to_failure") && value["cycles_to_failure"].is_object()) {
        const json& cycles = value["cycles_to_failure"];
        passage.cycles_to_failure =
            CycleRange{cycles.at("low"), cycles.at("median"), cycles.at("high")};
    }
    if (value.contains("profile")) passage.profile = profile_from(value["profile"]);
    return passage;
}

}  // namespace anfract
