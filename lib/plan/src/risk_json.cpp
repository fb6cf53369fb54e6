#include "risk_json.h"

#include <nlohmann/json.hpp>

#include "optional_json.h"

namespace anfract {
namespace {

using nlohmann::json;

json risk_to_json(const PlanRisk& line) {
    const Risk& risk = line.risk;
    json value{{"kind", to_string(risk.kind)},
               {"probability", risk.probability},
               {"interval", {risk.low, risk.high}},
               {"median", risk.median},
               {"range", {risk.from_5, risk.to_95}},
               {"limit", risk.limit},
               {"driver", nullptr},
               {"sentence", line.sentence}};
    if (risk.driver) {
        value["driver"] = {
            {"what", risk.driver->what},   {"depth_mm", or_null(risk.driver->depth_mm)},
            {"value", risk.driver->value}, {"sd", risk.driver->sd},
            {"unit", risk.driver->unit},   {"assumed", risk.driver->assumed},
            {"share", risk.driver_share}};
    }
    return value;
}

PlanRisk risk_from_json(const json& value) {
    PlanRisk line;
    Risk& risk = line.risk;
    risk.kind = from_word(value.at("kind").get<std::string>(),
                          {RiskKind::Short, RiskKind::Fracture, RiskKind::Twist, RiskKind::Ledge,
                           RiskKind::ThinWall, RiskKind::Shift, RiskKind::Overshoot});
    risk.probability = value.at("probability");
    risk.low = value.at("interval").at(0);
    risk.high = value.at("interval").at(1);
    risk.median = value.at("median");
    risk.from_5 = value.at("range").at(0);
    risk.to_95 = value.at("range").at(1);
    risk.limit = value.at("limit");
    if (value.contains("driver") && value["driver"].is_object()) {
        const json& driver = value["driver"];
        risk.driver = RiskInput{
            driver.at("what").get<std::string>(), optional_from<double>(driver, "depth_mm"),
            driver.at("value").get<double>(),     driver.at("sd").get<double>(),
            driver.at("unit").get<std::string>(), driver.at("assumed").get<bool>()};
        risk.driver_share = driver.at("share");
    }
    line.sentence = value.at("sentence");
    return line;
}

}  // namespace

json risks_to_json(const PlanRisks& risks) {
    json value{{"samples", risks.samples},
               {"unknown", risks.unknown},
               {"seed", risks.seed},
               {"any", risks.any},
               {"any_interval", {risks.any_low, risks.any_high}},
               {"risks", json::array()},
               {"sentence", risks.sentence}};
    for (const PlanRisk& risk : risks.risks) value["risks"].push_back(risk_to_json(risk));
    return value;
}

PlanRisks risks_from_json(const json& value) {
    PlanRisks risks;
    risks.samples = value.at("samples");
    risks.unknown = value.value("unknown", 0);
    risks.seed = value.at("seed");
    risks.any = value.at("any");
    risks.any_low = value.at("any_interval").at(0);
    risks.any_high = value.at("any_interval").at(1);
    for (const json& risk : value.at("risks")) risks.risks.push_back(risk_from_json(risk));
    risks.sentence = value.at("sentence");
    return risks;
}

namespace {

json along_to_json(const WatchedWall& along) {
    json walls = json::array();
    for (const auto& wall : along.wall_mm) walls.push_back(or_null(wall));
    return {{"depth_mm", along.depth_mm},
            {"removed_mm", along.removed_mm},
            {"wall_mm", std::move(walls)},
            {"danger_zone", along.danger_zone}};
}

WatchedWall along_from_json(const json& value) {
    WatchedWall along;
    along.depth_mm = value.at("depth_mm").get<std::vector<double>>();
    along.removed_mm = value.at("removed_mm").get<std::vector<double>>();
    for (const json& wall : value.at("wall_mm"))
        along.wall_mm.push_back(wall.is_null() ? std::nullopt : std::optional(wall.get<double>()));
    along.danger_zone = value.at("danger_zone").get<std::vector<bool>>();
    return along;
}

}  // namespace

json removal_to_json(const Removal& removal) {
    const Vec3& toward = removal.wall_toward_P;
    return {{"volume_mm3", removal.volume_mm3},
            {"untouched_share", removal.untouched_share},
            {"transport_mm", removal.transport_mm},
            {"transport_depth_mm", removal.transport_depth_mm},
            {"centring", or_null(removal.centring)},
            {"bend_before_deg", removal.bend_before_deg},
            {"bend_after_deg", removal.bend_after_deg},
            {"wall_mm", or_null(removal.wall_mm)},
            {"wall_depth_mm", removal.wall_depth_mm},
            {"wall_toward", {toward.x(), toward.y(), toward.z()}},
            {"wall_side", removal.wall_side},
            {"danger_zone", removal.danger_zone},
            {"along", removal.along ? along_to_json(*removal.along) : json(nullptr)},
            {"sentences", removal.sentences}};
}

Removal removal_from_json(const json& value) {
    Removal removal;
    removal.volume_mm3 = value.at("volume_mm3");
    removal.untouched_share = value.at("untouched_share");
    removal.transport_mm = value.at("transport_mm");
    removal.transport_depth_mm = value.at("transport_depth_mm");
    removal.centring = optional_from<double>(value, "centring");
    removal.bend_before_deg = value.at("bend_before_deg");
    removal.bend_after_deg = value.at("bend_after_deg");
    removal.wall_mm = optional_from<double>(value, "wall_mm");
    removal.wall_depth_mm = value.at("wall_depth_mm");
    const json& toward = value.at("wall_toward");
    removal.wall_toward_P = {toward.at(0).get<double>(), toward.at(1).get<double>(),
                             toward.at(2).get<double>()};
    removal.wall_side = value.at("wall_side");
    removal.danger_zone = value.at("danger_zone");
    if (value.contains("along") && value["along"].is_object())
        removal.along = along_from_json(value["along"]);
    removal.sentences = value.at("sentences").get<std::vector<std::string>>();
    return removal;
}

json sheet_to_json(const SheetBeforeAndAfter& sheet) {
    json walls = json::array();
    for (const auto& row : sheet.wall_after_mm) {
        json& values = walls.emplace_back(json::array());
        for (const auto& wall : row) values.push_back(or_null(wall));
    }
    return {{"depth_mm", sheet.depth_mm},
            {"theta_deg", sheet.theta_deg},
            {"radius_before_mm", sheet.radius_before_mm},
            {"radius_after_mm", sheet.radius_after_mm},
            {"wall_after_mm", std::move(walls)}};
}

SheetBeforeAndAfter sheet_from_json(const json& value) {
    using Rows = std::vector<std::vector<double>>;
    SheetBeforeAndAfter sheet;
    sheet.depth_mm = value.at("depth_mm").get<std::vector<double>>();
    sheet.theta_deg = value.at("theta_deg").get<std::vector<double>>();
    sheet.radius_before_mm = value.at("radius_before_mm").get<Rows>();
    sheet.radius_after_mm = value.at("radius_after_mm").get<Rows>();
    for (const json& row : value.at("wall_after_mm")) {
        auto& walls = sheet.wall_after_mm.emplace_back();
        for (const json& wall : row)
            walls.push_back(wall.is_null() ? std::nullopt : std::optional(wall.get<double>()));
    }
    return sheet;
}

}  // namespace anfract
