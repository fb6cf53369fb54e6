#include "canal_json.h"

#include <cmath>
#include <functional>

namespace anfract {
namespace {

using nlohmann::json;

std::optional<Branching> branching_from(const json& canal, const char* key) {
    if (!canal.contains(key) || canal.at(key).is_null()) return std::nullopt;
    return Branching{canal.at(key).at("canal").get<std::string>(),
                     canal.at(key).at("depth_mm").get<double>()};
}

json to_json(const std::optional<Branching>& branching) {
    if (!branching) return nullptr;
    return {{"canal", branching->canal}, {"depth_mm", branching->depth_mm}};
}

Result<void> check_count(const json& array, const std::string& key, std::size_t expected,
                         const std::string& where) {
    if (array.size() == expected) return {};
    return fail(ErrorCode::BadInput,
                "key '" + key + "' has " + std::to_string(array.size()) +
                    " entries where 'depth_mm' has " + std::to_string(expected),
                where, "give every array under 'samples' one entry for each depth");
}

/// An array under `samples` and what to do with each of its entries.
struct Column {
    const char* key;
    bool required;
    std::function<void(CanalSample&, const json&)> take;
};

const std::vector<Column>& columns() {
    static const std::vector<Column> all{
        {"point_mm", true, [](CanalSample& s, const json& v) { s.point_P = vec3_from(v); }},
        {"point_sd_mm", false, [](CanalSample& s, const json& v) { s.point_sd_mm = v; }},
        {"diameter_mm", true, [](CanalSample& s, const json& v) { s.diameter_mm = v; }},
        {"diameter_sd_mm", false, [](CanalSample& s, const json& v) { s.diameter_sd_mm = v; }},
        {"diameter_short_mm", false,
         [](CanalSample& s, const json& v) { s.diameter_short_mm = v; }},
        {"diameter_long_mm", false, [](CanalSample& s, const json& v) { s.diameter_long_mm = v; }},
        {"long_axis_deg", false,
         [](CanalSample& s, const json& v) {
             s.long_axis_deg = std::fmod(std::fmod(v.get<double>(), 180.0) + 180.0, 180.0);
         }},
        {"wall_min_mm", false,
         [](CanalSample& s, const json& v) { s.wall_min_mm = v.get<double>(); }},
        {"wall_min_toward", false,
         [](CanalSample& s, const json& v) { s.wall_min_toward = vec3_from(v); }},
        {"curvature_per_mm", false, [](CanalSample& s, const json& v) { s.curvature_per_mm = v; }}};
    return all;
}

Result<void> read_samples(const json& node, const std::string& key, const std::string& where,
                          Canal& canal) {
    canal.samples.resize(node.at("depth_mm").size());
    for (std::size_t i = 0; i < canal.samples.size(); ++i) {
        canal.samples[i].depth_mm = node.at("depth_mm")[i].get<double>();
        // Told apart from a curvature of zero until fill_in() estimates it.
        canal.samples[i].curvature_per_mm = std::nan("");
    }
    for (const Column& column : columns()) {
        if (!column.required && !node.contains(column.key)) continue;
        const json& array = node.at(column.key);
        auto fits = check_count(array, key + "." + column.key, canal.samples.size(), where);
        if (!fits) return fits;
        for (std::size_t i = 0; i < array.size(); ++i) column.take(canal.samples[i], array[i]);
    }
    return {};
}

Result<void> read_wall_sheet(const json& node, const std::string& key, const std::string& where,
                             Canal& canal) {
    WallSheet sheet;
    sheet.theta_count = node.at("theta_count").get<int>();
    for (const char* name : {"first_direction", "wall_mm"}) {
        auto fits = check_count(node.at(name), key + "." + name, canal.samples.size(), where);
        if (!fits) return fits;
    }
    for (const json& direction : node.at("first_direction")) {
        sheet.first_direction.push_back(vec3_from(direction));
    }
    for (const json& row : node.at("wall_mm")) {
        if (row.size() != static_cast<std::size_t>(sheet.theta_count)) {
            return fail(ErrorCode::BadInput,
                        "key '" + key + ".wall_mm' has a row of " + std::to_string(row.size()) +
                            " entries where 'theta_count' is " + std::to_string(sheet.theta_count),
                        where, "give every row one entry for each direction");
        }
        sheet.wall_mm.push_back(row.get<std::vector<double>>());
    }
    canal.wall_sheet = std::move(sheet);
    return {};
}

json samples_to_json(const std::vector<CanalSample>& samples) {
    json node;
    bool sd = false, point_sd = false, toward = false;
    bool walls = !samples.empty();
    for (const CanalSample& s : samples) {
        sd = sd || s.diameter_sd_mm > 0;
        point_sd = point_sd || s.point_sd_mm > 0;
        toward = toward || s.wall_min_toward.squaredNorm() > 0;
        walls = walls && s.wall_min_mm.has_value();
    }
    for (const char* key : {"depth_mm", "point_mm", "diameter_mm"}) node[key] = json::array();
    for (const CanalSample& s : samples) {
        node["depth_mm"].push_back(s.depth_mm);
        node["point_mm"].push_back(vec3_to(s.point_P));
        node["diameter_mm"].push_back(s.diameter_mm);
        node["diameter_short_mm"].push_back(s.diameter_short_mm > 0 ? s.diameter_short_mm
                                                                    : s.diameter_mm);
        node["diameter_long_mm"].push_back(s.diameter_long_mm > 0 ? s.diameter_long_mm
                                                                  : s.diameter_mm);
        node["long_axis_deg"].push_back(s.long_axis_deg);
        node["curvature_per_mm"].push_back(s.curvature_per_mm);
        if (sd) node["diameter_sd_mm"].push_back(s.diameter_sd_mm);
        if (point_sd) node["point_sd_mm"].push_back(s.point_sd_mm);
        if (walls) node["wall_min_mm"].push_back(*s.wall_min_mm);
        if (walls && toward) node["wall_min_toward"].push_back(vec3_to(s.wall_min_toward));
    }
    return node;
}

json wall_sheet_to_json(const WallSheet& sheet) {
    json directions = json::array();
    for (const Vec3& direction : sheet.first_direction) directions.push_back(vec3_to(direction));
    return {{"theta_count", sheet.theta_count},
            {"first_direction", std::move(directions)},
            {"wall_mm", sheet.wall_mm}};
}

}  // namespace

Vec3 vec3_from(const json& node) {
    return {node.at(0).get<double>(), node.at(1).get<double>(), node.at(2).get<double>()};
}

json vec3_to(const Vec3& vector) { return {vector.x(), vector.y(), vector.z()}; }

Result<Canal> canal_from_json(const json& node, const std::string& key, const std::string& where) {
    Canal canal;
    canal.name = node.at("name").get<std::string>();
    if (node.contains("presence")) canal.presence = node.at("presence").get<double>();
    canal.by_hand = node.value("by_hand", false);
    canal.orifice_P = vec3_from(node.at("orifice_mm"));
    canal.foramen_P = vec3_from(node.at("foramen_mm"));
    canal.joins = branching_from(node, "joins");
    canal.leaves = branching_from(node, "leaves");
    canal.length_mm = node.at("length_mm").get<double>();
    canal.depth_to_foramen_mm = node.at("depth_to_foramen_mm").get<double>();
    if (node.contains("depth_sd_mm")) canal.depth_sd_mm = node.at("depth_sd_mm").get<double>();
    if (node.contains("point_correlation_mm"))
        canal.point_correlation_mm = node.at("point_correlation_mm").get<double>();
    auto samples = read_samples(node.at("samples"), key + ".samples", where, canal);
    if (!samples) return tl::unexpected(samples.error());
    if (node.contains("wall_sheet")) {
        auto sheet = read_wall_sheet(node.at("wall_sheet"), key + ".wall_sheet", where, canal);
        if (!sheet) return tl::unexpected(sheet.error());
    }
    return canal;
}

json canal_to_json(const Canal& canal) {
    json node{{"name", canal.name},
              {"orifice_mm", vec3_to(canal.orifice_P)},
              {"foramen_mm", vec3_to(canal.foramen_P)},
              {"joins", to_json(canal.joins)},
              {"leaves", to_json(canal.leaves)},
              {"length_mm", canal.length_mm},
              {"depth_to_foramen_mm", canal.depth_to_foramen_mm},
              {"samples", samples_to_json(canal.samples)}};
    if (canal.presence) node["presence"] = *canal.presence;
    if (canal.by_hand) node["by_hand"] = true;
    if (canal.depth_sd_mm) node["depth_sd_mm"] = *canal.depth_sd_mm;
    if (canal.point_correlation_mm) node["point_correlation_mm"] = *canal.point_correlation_mm;
    if (canal.wall_sheet) node["wall_sheet"] = wall_sheet_to_json(*canal.wall_sheet);
    return node;
}

}  // namespace anfract
