#include "first_folders.h"

#include <nlohmann/json.hpp>
#include <optional>

#include "anfract/base/file.h"
#include "anfract/base/refusal_codes.h"

namespace anfract::server {
namespace fs = std::filesystem;
using nlohmann::json;

namespace {

std::optional<record::CaseEntry> entry_from(const Result<json>& stored, const std::string& id) {
    if (!stored || !stored->is_object()) return std::nullopt;
    try {
        return record::CaseEntry{id,
                                 stored->value("created", ""),
                                 stored->value("scan", ""),
                                 stored->value("fdi", ""),
                                 stored->value("label", ""),
                                 stored->value("invented", false)};
    } catch (const json::exception&) {
        return std::nullopt;
    }
}

Result<void> take_over(const DataDirectory& directory, const record::Record& record,
                       const std::string& id) {
    const fs::path folder = directory.cases() / id;
    const auto entry = entry_from(read_json(folder / "case.json"), id);
    const Result<std::string> tooth = read_file(folder / "tooth.json");
    if (!entry || !tooth) return {};
    const auto added = record.cases().add(*entry, {"tooth", *tooth, "tooth.json"}, "");
    // Conflict: taken over already, but the move below was interrupted.
    if (!added && added.error().code != refused_for_conflict) return tl::unexpected(added.error());
    std::error_code error;
    fs::create_directories(directory.taken_over(), error);
    fs::rename(folder, directory.taken_over() / id, error);
    if (error) {
        return fail(ErrorCode::Io, "cannot be moved (" + error.message() + ")", folder.string(),
                    "check the rights");
    }
    return {};
}

}  // namespace

Result<void> take_over_first_folders(const DataDirectory& directory, const record::Record& record) {
    for (const std::string& id : ids_below(directory.cases())) {
        if (auto done = take_over(directory, record, id); !done) return done;
    }
    return {};
}

}  // namespace anfract::server
