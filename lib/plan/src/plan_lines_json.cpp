#include "plan_lines_json.h"

#include <nlohmann/json.hpp>

#include "optional_json.h"
#include "risk_json.h"

namespace anfract {
namespace {

using nlohmann::json;

DeviceKind kind_from(const std::string& word) {
    return from_word(
        word, {DeviceKind::HandFile, DeviceKind::RotaryFile, DeviceKind::ReciprocatingFile,
               DeviceKind::IrrigationCannula, DeviceKind::AgitationTip, DeviceKind::PaperPoint,
               DeviceKind::Cone, DeviceKind::Plugger, DeviceKind::HeatTip,
               DeviceKind::InjectionCannula, DeviceKind::CoronalCompactor});
}

json step_to_json(const PlanStep& step) {
    return {{"device", step.device},
            {"kind", to_string(step.kind)},
            {"action", to_string(step.action)},
            {"depth_mm", step.depth_mm},
            {"stop_setting_mm", step.stop_setting_mm},
            {"why", step.why},
            {"passage", step.passage},
            {"diameter_after_mm", step.diameter_after_mm},
            {"wall_left_mm", or_null(step.wall_left_mm)},
            {"wall_left_depth_mm", or_null(step.wall_left_depth_mm)},
            {"transport_mm", step.transport_mm},
            {"transport_depth_mm", step.transport_depth_mm},
            {"removed_mm3", step.removed_mm3},
            {"untouched_share", or_null(step.untouched_share)},
            {"passes", step.passes},
            {"bound_mm", step.bound_mm},
            {"life_used", step.life_used},
            {"centring", or_null(step.centring)}};
}

PlanStep step_from_json(const json& value) {
    PlanStep step;
    step.device = value.at("device");
    step.kind = kind_from(value.at("kind"));
    step.action =
        from_word(value.at("action").get<std::string>(),
                  {StepAction::Scout, StepAction::Open, StepAction::Shape, StepAction::Finish});
    step.depth_mm = value.at("depth_mm");
    step.stop_setting_mm = value.at("stop_setting_mm");
    step.why = value.at("why");
    step.passage = value.at("passage");
    step.diameter_after_mm = value.value("diameter_after_mm", 0.0);
    step.wall_left_mm = optional_from<double>(value, "wall_left_mm");
    step.wall_left_depth_mm = optional_from<double>(value, "wall_left_depth_mm");
    step.transport_mm = value.value("transport_mm", 0.0);
    step.transport_depth_mm = value.value("transport_depth_mm", 0.0);
    step.removed_mm3 = value.value("removed_mm3", 0.0);
    step.untouched_share = optional_from<double>(value, "untouched_share");
    step.passes = value.value("passes", 1);
    step.bound_mm = value.value("bound_mm", 0.0);
    step.life_used = value.value("life_used", 0.0);
    step.centring = optional_from<double>(value, "centring");
    return step;
}

json steps_to_json(const std::vector<PlanStep>& steps) {
    json values = json::array();
    for (const PlanStep& step : steps) values.push_back(step_to_json(step));
    return values;
}

std::vector<PlanStep> steps_from_json(const json& values) {
    std::vector<PlanStep> steps;
    for (const json& value : values) steps.push_back(step_from_json(value));
    return steps;
}

UnusedInstrument unused_from_json(const json& value) {
    using Because = UnusedInstrument::Because;
    // Plans of earlier programs do not say what kind of reason it is.
    return {value.at("device").get<std::string>(),
            from_word(value.value("because", to_string(Because::Limit)),
                      {Because::Limit, Because::Outdone, Because::Size, Because::Length,
                       Because::Twin, Because::Stock}),
            value.at("why").get<std::string>()};
}

json final_to_json(const FinalSize& size) {
    return {{"device", size.device},   {"tip_mm", size.tip_mm},
            {"taper", size.taper},     {"depth_mm", size.depth_mm},
            {"passage", size.passage}, {"limited_by", to_string(size.limited_by)},
            {"why", size.why}};
}

FinalSize final_from_json(const json& value) {
    FinalSize size;
    size.device = value.at("device");
    size.tip_mm = value.at("tip_mm");
    size.taper = value.at("taper");
    size.depth_mm = value.at("depth_mm");
    size.passage = value.at("passage");
    size.limited_by =
        from_word(value.at("limited_by").get<std::string>(),
                  {SizeLimit::Strain, SizeLimit::Wall, SizeLimit::Curve, SizeLimit::Force,
                   SizeLimit::Width, SizeLimit::Tray, SizeLimit::Enough});
    size.why = value.at("why");
    return size;
}

json passive_to_json(const PassiveDevice& passive) {
    json value{{"job", to_string(passive.job)},
               {"device", passive.device},
               {"kind", to_string(passive.kind)},
               {"reaches_mm", passive.reaches_mm},
               {"stop_setting_mm", passive.stop_setting_mm},
               {"stopped_by", to_string(passive.stopped_by)},
               {"chosen", passive.chosen},
               {"band_mm", nullptr},
               {"why", passive.why},
               {"passage", passive.passage}};
    if (passive.band_mm) value["band_mm"] = {passive.band_mm->first, passive.band_mm->second};
    return value;
}

PassiveDevice passive_from_json(const json& value) {
    PassiveDevice passive;
    passive.job = from_word(
        value.at("job").get<std::string>(),
        {Job::Rinse, Job::Agitate, Job::Dry, Job::Fit, Job::Compact, Job::Fill, Job::Coronal});
    passive.device = value.at("device");
    passive.kind = kind_from(value.at("kind"));
    passive.reaches_mm = value.at("reaches_mm");
    passive.stop_setting_mm = value.at("stop_setting_mm");
    passive.stopped_by =
        from_word(value.at("stopped_by").get<std::string>(),
                  {StoppedBy::Foramen, StoppedBy::Width, StoppedBy::Stiffness, StoppedBy::Force,
                   StoppedBy::Buckling, StoppedBy::Length, StoppedBy::Strain, StoppedBy::Unknown});
    passive.chosen = value.at("chosen");
    if (value.contains("band_mm") && value["band_mm"].is_array()) {
        passive.band_mm = {value["band_mm"].at(0).get<double>(),
                           value["band_mm"].at(1).get<double>()};
    }
    passive.why = value.at("why");
    passive.passage = value.at("passage");
    return passive;
}

json measured_to_json(const MeasuredDepth& measured) {
    return {{"from_scan_mm", measured.from_scan_mm},
            {"difference_mm", measured.difference_mm},
            {"difference_sd", or_null(measured.difference_sd)},
            {"changes", measured.changes}};
}

MeasuredDepth measured_from_json(const json& value) {
    return {value.at("from_scan_mm").get<double>(), value.at("difference_mm").get<double>(),
            optional_from<double>(value, "difference_sd"),
            value.at("changes").get<std::vector<std::string>>()};
}

json smallest_to_json(const SmallestInstrument& smallest) {
    return {{"device", or_null(smallest.device)},
            {"passage", or_null(smallest.passage)},
            {"reaches_mm", or_null(smallest.reaches_mm)},
            {"reaches_working_depth", smallest.reaches_working_depth},
            {"sentence", smallest.sentence}};
}

SmallestInstrument smallest_from_json(const json& value) {
    return {optional_from<std::string>(value, "device"), optional_from<int>(value, "passage"),
            optional_from<double>(value, "reaches_mm"),
            value.at("reaches_working_depth").get<bool>(), value.at("sentence").get<std::string>()};
}

json lumen_to_json(const LumenAfter& lumen) {
    json walls = json::array();
    for (const auto& wall : lumen.wall_min_mm) walls.push_back(or_null(wall));
    return {
        {"depth_mm", lumen.depth_mm}, {"diameter_mm", lumen.diameter_mm}, {"wall_min_mm", walls}};
}

LumenAfter lumen_from_json(const json& value) {
    LumenAfter lumen;
    lumen.depth_mm = value.at("depth_mm").get<std::vector<double>>();
    lumen.diameter_mm = value.at("diameter_mm").get<std::vector<double>>();
    for (const json& wall : value.at("wall_min_mm")) {
        lumen.wall_min_mm.push_back(wall.is_null() ? std::nullopt
                                                   : std::optional<double>(wall.get<double>()));
    }
    return lumen;
}

}  // namespace

json canal_plan_to_json(const CanalPlan& canal) {
    json value{{"canal", canal.canal},
               {"presence", or_null(canal.presence)},
               {"depth_to_foramen_mm", canal.depth_to_foramen_mm},
               {"depth_sd_mm", or_null(canal.depth_sd_mm)},
               {"working_depth_mm", canal.working_depth_mm},
               {"working_depth_why", canal.working_depth_why},
               {"ends_at_join", nullptr},
               {"measured", canal.measured ? measured_to_json(*canal.measured) : json(nullptr)},
               {"smallest", smallest_to_json(canal.smallest)},
               {"final", canal.final_size ? final_to_json(*canal.final_size) : json(nullptr)},
               {"order", steps_to_json(canal.order)},
               {"recapitulation", nullptr},
               {"passive", json::array()},
               {"lumen_after", lumen_to_json(canal.lumen_after)},
               {"alternatives", json::array()},
               {"unused", json::array()},
               {"risks", canal.risks ? risks_to_json(*canal.risks) : json(nullptr)},
               {"removal", canal.removal ? removal_to_json(*canal.removal) : json(nullptr)},
               {"sheet", canal.sheet ? sheet_to_json(*canal.sheet) : json(nullptr)},
               {"notes", canal.notes}};
    for (const PlanAlternative& other : canal.alternatives) {
        value["alternatives"].push_back({{"kind", to_string(other.kind)},
                                         {"order", steps_to_json(other.order)},
                                         {"sentence", other.sentence}});
    }
    for (const UnusedInstrument& unused : canal.unused)
        value["unused"].push_back({{"device", unused.device},
                                   {"because", to_string(unused.because)},
                                   {"why", unused.why}});
    for (const PassiveDevice& passive : canal.passive)
        value["passive"].push_back(passive_to_json(passive));
    if (const auto& join = canal.ends_at_join)
        value["ends_at_join"] = {{"canal", join->canal}, {"depth_mm", join->depth_mm}};
    if (const auto& last = canal.recapitulation) {
        value["recapitulation"] = {{"device", last->device},
                                   {"depth_mm", last->depth_mm},
                                   {"stop_setting_mm", last->stop_setting_mm},
                                   {"passage", last->passage},
                                   {"why", last->why}};
    }
    return value;
}

CanalPlan canal_plan_from_json(const json& value) {
    CanalPlan canal;
    canal.canal = value.at("canal");
    canal.presence = optional_from<double>(value, "presence");
    canal.depth_to_foramen_mm = value.at("depth_to_foramen_mm");
    canal.depth_sd_mm = optional_from<double>(value, "depth_sd_mm");
    canal.working_depth_mm = value.at("working_depth_mm");
    canal.working_depth_why = value.at("working_depth_why");
    if (value.contains("ends_at_join") && value["ends_at_join"].is_object()) {
        canal.ends_at_join =
            Branching{value["ends_at_join"].at("canal"), value["ends_at_join"].at("depth_mm")};
    }
    if (value.contains("measured") && value["measured"].is_object())
        canal.measured = measured_from_json(value["measured"]);
    canal.smallest = smallest_from_json(value.at("smallest"));
    if (value.contains("final") && value["final"].is_object())
        canal.final_size = final_from_json(value["final"]);
    canal.order = steps_from_json(value.at("order"));
    if (value.contains("recapitulation") && value["recapitulation"].is_object()) {
        const json& last = value["recapitulation"];
        canal.recapitulation =
            Recapitulation{last.at("device"), last.at("depth_mm"), last.at("stop_setting_mm"),
                           last.at("passage"), last.at("why")};
    }
    for (const json& passive : value.at("passive"))
        canal.passive.push_back(passive_from_json(passive));
    if (value.contains("lumen_after")) canal.lumen_after = lumen_from_json(value["lumen_after"]);
    if (value.contains("alternatives")) {
        for (const json& other : value["alternatives"]) {
            canal.alternatives.push_back(
                {from_word(other.at("kind").get<std::string>(),
                           {AlternativeOrder::Kind::Brief, AlternativeOrder::Kind::Gentle}),
                 steps_from_json(other.at("order")), other.at("sentence").get<std::string>()});
        }
    }
    if (value.contains("unused")) {
        for (const json& unused : value["unused"]) canal.unused.push_back(unused_from_json(unused));
    }
    if (value.contains("risks") && value["risks"].is_object())
        canal.risks = risks_from_json(value["risks"]);
    if (value.contains("removal") && value["removal"].is_object())
        canal.removal = removal_from_json(value["removal"]);
    if (value.contains("sheet") && value["sheet"].is_object())
        canal.sheet = sheet_from_json(value["sheet"]);
    canal.notes = value.at("notes").get<std::vector<std::string>>();
    return canal;
}

json warning_to_json(const PlanWarning& warning) {
    return {{"text", warning.text},
            {"reason", warning.reason},
            {"canal", or_null(warning.canal)},
            {"depth_mm", or_null(warning.depth_mm)},
            {"severity", warning.severity},
            {"passage", or_null(warning.passage)}};
}

PlanWarning warning_from_json(const json& value) {
    return {value.at("text").get<std::string>(),
            value.at("reason").get<std::string>(),
            optional_from<std::string>(value, "canal"),
            optional_from<double>(value, "depth_mm"),
            value.at("severity").get<int>(),
            optional_from<int>(value, "passage")};
}

}  // namespace anfract
