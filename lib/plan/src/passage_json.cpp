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
          StoppedBy::Buckling, StoppedBy::Length, StoppedBy::Strain, StoppedBy::Unknown}) {
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

CycleRange cycles_from(const json& value) {
    return {value.at("low"), value.at("median"), value.at("high")};
}

TipContact tip_from(const json& value) {
    return {value.at("clearance_mm"), value.at("attack_deg"), value.at("side_force_N"),
            value.at("at_outer_wall")};
}

Torsion torsion_from(const json& value) {
    const json &torque = value.at("fracture_torque_mNm"), &share = value.at("share_of_fracture");
    Torsion torsion{value.at("bound_mm"), value.at("hysteresis_mNm"),
                    torque.at(0),         torque.at(1),
                    share.at(0),          share.at(1)};
    // Plans written before cutting was counted lack these.
    if (value.contains("cutting_mNm")) {
        torsion.cutting_low_mNm = value["cutting_mNm"].at(0);
        torsion.cutting_high_mNm = value["cutting_mNm"].at(1);
        torsion.lock_mNm = value.at("lock_mNm");
        torsion.screw_in_low_N = value.at("screw_in_N").at(0);
        torsion.screw_in_high_N = value.at("screw_in_N").at(1);
    }
    return torsion;
}

PreBend pre_bend_from(const json& value) {
    const json& along = value.at("from_tip_mm");
    return {value.at("bend_to_radius_mm"), value.at("springs_to_radius_mm"), along.at(0),
            along.at(1), value.at("set_radius_mm")};
}

FitBand fit_from(const json& value) {
    const json& reaches = value.at("reaches_mm");
    FitBand fit{reaches.at(0), reaches.at(1), {}};
    if (value.contains("trim_mm")) fit.trim_mm = value["trim_mm"].get<double>();
    return fit;
}

Withdrawal withdrawal_from(const json& value) {
    Withdrawal back{
        value.at("from_tip_mm"), value.at("moment_mNm"), value.at("moment_at_half_mNm"), {}};
    if (value.contains("set_radius_mm")) back.set_radius_mm = value["set_radius_mm"].get<double>();
    return back;
}

TugBack tug_back_from(const json& value) {
    TugBack tug{value.at("seated_with_N"), value.at("force_N"), {}};
    if (value.contains("range_N"))
        tug.range_N =
            std::pair(value["range_N"].at(0).get<double>(), value["range_N"].at(1).get<double>());
    return tug;
}

BucklingLoad buckling_from(const json& value) {
    return {value.at("outside_N"), value.at("share_outside"), value.at("share_inside")};
}

/// What is not there for every device.
void read_details(const json& value, Passage& passage) {
    const auto take = [&value](const char* key, auto& field, auto from) {
        if (value.contains(key) && !value[key].is_null()) field = from(value[key]);
    };
    take("cycles_to_failure", passage.cycles_to_failure, cycles_from);
    take("life_used_per_minute", passage.life_used_per_minute, cycles_from);
    take("tip", passage.tip, tip_from);
    take("torsion", passage.torsion, torsion_from);
    take("pre_bend", passage.pre_bend, pre_bend_from);
    take("withdrawal", passage.withdrawal, withdrawal_from);
    take("fit", passage.fit, fit_from);
    take("tug_back", passage.tug_back, tug_back_from);
    take("buckling", passage.buckling, buckling_from);
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
    read_details(value, passage);
    if (value.contains("profile")) passage.profile = profile_from(value["profile"]);
    return passage;
}

}  // namespace anfract
