#include "scan_record.h"

#include <nlohmann/json.hpp>

#include "anfract/base/json_text.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// Throws json::exception when a key is missing or of another type.
ScanRecord record_from(const record::KeptScan& kept, const fs::path& folder) {
    const json stored = parse_json(kept.content, kept.id).value_or(json());
    ScanRecord record;
    record.id = kept.id;
    record.sha256 = kept.sha256;
    record.label = stored.at("label");
    record.uploaded = stored.at("uploaded");
    const fs::path path = stored.at("path").get<std::string>();
    record.path = record.uploaded ? folder / path.filename() : path;
    record.series_uid = stored.at("series_uid");
    const json study = stored.value("study", json::object());
    for_each_member(record.study,
                    [&](const char* name, std::string& text) { text = study.value(name, ""); });
    record.invented = stored.at("invented");
    record.created = kept.created;
    record.low_grey = stored.at("grey").at("low");
    record.high_grey = stored.at("grey").at("high");
    const json& grid = stored.at("geometry");
    for (std::size_t a = 0; a < 3; ++a) {
        record.geometry.size[a] = grid.at("size").at(a);
        record.geometry.spacing_mm[int(a)] = grid.at("spacing_mm").at(a);
        record.geometry.origin_P[int(a)] = grid.at("origin_mm").at(a);
        for (std::size_t b = 0; b < 3; ++b) {
            record.geometry.direction(int(a), int(b)) = grid.at("direction").at(3 * a + b);
        }
    }
    return record;
}

}  // namespace

json to_json(const GridGeometry& geometry) {
    json direction = json::array();
    for (int row = 0; row < 3; ++row) {
        for (int column = 0; column < 3; ++column)
            direction.push_back(geometry.direction(row, column));
    }
    return {{"size", geometry.size},
            {"spacing_mm", to_json(geometry.spacing_mm)},
            {"origin_mm", to_json(geometry.origin_P)},
            {"direction", direction}};
}

json to_json(const ScanRecord& record) {
    return {{"id", record.id},
            {"label", record.label},
            {"invented", record.invented},
            {"geometry", to_json(record.geometry)},
            {"series_uid", record.series_uid},
            {"grey", {{"low", record.low_grey}, {"high", record.high_grey}}},
            {"created", record.created}};
}

std::string content_of(const ScanRecord& record) {
    json stored = to_json(record);
    stored["path"] = record.uploaded ? record.path.filename().string() : record.path.string();
    stored["uploaded"] = record.uploaded;
    for_each_member(record.study, [&](const char* name, const std::string& text) {
        if (!text.empty()) stored["study"][name] = text;
    });
    return stored.dump(-1, ' ', false, json::error_handler_t::replace);
}

Result<ScanRecord> scan_record_of(const record::KeptScan& kept, const fs::path& folder) {
    try {
        return record_from(kept, folder);
    } catch (const json::exception&) {
        return fail(ErrorCode::BadInput, "what is kept of the scan is damaged", kept.id,
                    "restore the record from a backup");
    }
}

}  // namespace anfract::server
