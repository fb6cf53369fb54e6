#include "anfract/tooth/tooth_file.h"

#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "canal_json.h"
#include "tooth_checks.h"

namespace anfract {
namespace {

using nlohmann::json;

Surface surface_from(const json& node) {
    Surface surface;
    for (const json& vertex : node.at("vertices_mm")) {
        surface.vertices_P.push_back(vec3_from(vertex));
    }
    for (const json& triangle : node.at("triangles")) {
        surface.triangles.push_back(triangle.get<std::array<int, 3>>());
    }
    return surface;
}

json to_json(const Surface& surface) {
    json vertices = json::array();
    for (const Vec3& vertex : surface.vertices_P) vertices.push_back(vec3_to(vertex));
    return {{"vertices_mm", std::move(vertices)}, {"triangles", surface.triangles}};
}

ScanFacts scan_from(const json& node) {
    ScanFacts scan;
    scan.series_uid = node.value("series_uid", "");
    if (node.contains("voxel_mm")) scan.voxel_mm = vec3_from(node.at("voxel_mm"));
    scan.noise = node.value("noise", 0.0);
    scan.sharpness_fwhm_mm = node.value("sharpness_fwhm_mm", 0.0);
    return scan;
}

json to_json(const ScanFacts& scan) {
    return {{"series_uid", scan.series_uid},
            {"voxel_mm", vec3_to(scan.voxel_mm)},
            {"noise", scan.noise},
            {"sharpness_fwhm_mm", scan.sharpness_fwhm_mm}};
}

PossibleCanal possible_from(const json& node) {
    PossibleCanal possible;
    possible.presence = node.at("presence");
    possible.first_sign_P = vec3_from(node.at("first_sign_mm"));
    possible.last_sign_P = vec3_from(node.at("last_sign_mm"));
    possible.first_sign_depth_mm = node.at("first_sign_depth_mm");
    possible.nearest_canal = node.at("nearest_canal");
    possible.from_nearest_mm = node.at("from_nearest_mm");
    possible.direction = node.at("direction");
    possible.floor_left_mm = node.at("floor_left_mm");
    return possible;
}

json to_json(const PossibleCanal& possible) {
    return {{"presence", possible.presence},
            {"first_sign_mm", vec3_to(possible.first_sign_P)},
            {"last_sign_mm", vec3_to(possible.last_sign_P)},
            {"first_sign_depth_mm", possible.first_sign_depth_mm},
            {"nearest_canal", possible.nearest_canal},
            {"from_nearest_mm", possible.from_nearest_mm},
            {"direction", possible.direction},
            {"floor_left_mm", possible.floor_left_mm}};
}

Result<Tooth> read_whole(const json& document, const std::string& where) {
    Tooth tooth;
    tooth.fdi = document.at("tooth").at("fdi").get<std::string>();
    tooth.reference_P = vec3_from(document.at("reference_mm"));
    tooth.invented = document.value("invented", false);
    if (document.contains("scan")) tooth.scan = scan_from(document.at("scan"));
    tooth.findings = document.value("findings", std::vector<std::string>{});
    for (const json& node : document.value("possible", json::array())) {
        tooth.possible.push_back(possible_from(node));
    }
    if (document.contains("surface")) tooth.surface = surface_from(document.at("surface"));
    if (document.contains("chamber")) tooth.chamber = surface_from(document.at("chamber"));
    for (std::size_t i = 0; i < document.at("canals").size(); ++i) {
        auto canal =
            canal_from_json(document.at("canals")[i], "canals[" + std::to_string(i) + "]", where);
        if (!canal) return tl::unexpected(canal.error());
        tooth.canals.push_back(std::move(*canal));
    }
    if (auto sound = check_tooth(tooth, where); !sound) return tl::unexpected(sound.error());
    for (Canal& canal : tooth.canals) fill_in(canal);
    note_doubts(tooth);
    return tooth;
}

}  // namespace

Result<Tooth> tooth_from_json(const json& document, const std::string& where) {
    try {
        return read_whole(document, where);
    } catch (const json::exception& error) {
        // Only a document that was never held against its schema gets here.
        return fail(ErrorCode::BadInput,
                    std::string("does not follow its schema (") + error.what() + ")", where,
                    "give a file of the format anfract.tooth");
    }
}

Result<Tooth> read_tooth(const std::filesystem::path& path) {
    return read_document(path, "anfract.tooth").and_then([&](const json& document) {
        return tooth_from_json(document, path.string());
    });
}

json tooth_to_json(const Tooth& tooth) {
    json document{{"format", "anfract.tooth"},
                  {"version", 1},
                  {"frame", "LPS-mm"},
                  {"tooth", {{"fdi", tooth.fdi}}},
                  {"reference_mm", vec3_to(tooth.reference_P)},
                  {"canals", json::array()}};
    if (tooth.invented) document["invented"] = true;
    if (tooth.scan) document["scan"] = to_json(*tooth.scan);
    for (const PossibleCanal& possible : tooth.possible) {
        document["possible"].push_back(to_json(possible));
    }
    if (!tooth.findings.empty()) document["findings"] = tooth.findings;
    if (tooth.surface) document["surface"] = to_json(*tooth.surface);
    if (tooth.chamber) document["chamber"] = to_json(*tooth.chamber);
    for (const Canal& canal : tooth.canals) document["canals"].push_back(canal_to_json(canal));
    return document;
}

Result<void> write_tooth(const std::filesystem::path& path, const Tooth& tooth) {
    return write_document(path, tooth_to_json(tooth), "anfract.tooth");
}

}  // namespace anfract
