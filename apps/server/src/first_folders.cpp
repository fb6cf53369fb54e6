#include "first_folders.h"

#include <nlohmann/json.hpp>
#include <optional>

#include "anfract/base/file.h"
#include "tray_shelf.h"

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

Result<void> move_aside(const DataDirectory& directory, const fs::path& from,
                        const std::string& name) {
    std::error_code error;
    fs::create_directories(directory.taken_over(), error);
    fs::permissions(directory.taken_over(), fs::perms::owner_all, error);
    fs::rename(from, directory.taken_over() / name, error);
    if (!error) return {};
    return fail(ErrorCode::Io, "cannot be moved (" + error.message() + ")", from.string(),
                "check the rights");
}

Result<void> take_over_case(const DataDirectory& directory, const record::Record& record,
                            const std::string& id) {
    const fs::path folder = directory.cases() / id;
    const auto entry = entry_from(read_json(folder / "case.json"), id);
    const Result<std::string> tooth = read_file(folder / "tooth.json");
    if (!entry || !tooth) return {};
    const auto added = record.cases().add(*entry, {"tooth", *tooth, "tooth.json"}, "");
    // Conflict: taken over already, but the move below was interrupted.
    if (!added && added.error().code != ErrorCode::Conflict) return tl::unexpected(added.error());
    return move_aside(directory, folder, id);
}

/// An uploaded scan and its description. The file goes into the vault under a second name first, so
/// that it is never without one.
Result<void> take_over_scan(const DataDirectory& directory, const record::Record& record,
                            const std::string& id) {
    const fs::path folder = directory.scans() / id;
    const auto stored = read_json(folder / "scan.json");
    if (!stored || !record::describes_scan(*stored)) return {};  // damaged: left where it is
    record::KeptScan scan{id, stored->value("created", ""), stored->dump(), "", ""};
    std::error_code error;
    const fs::path file = folder / fs::path(stored->value("path", "")).filename();
    scan.name = file.filename().string();
    const auto known = record.scans().find(id);
    if (known && !known->sha256.empty()) {  // taken over, but the rest was interrupted
        fs::remove(file, error);
        return move_aside(directory, folder / "scan.json", "scan-" + id + ".json");
    }
    if (stored->contains("uploaded") && stored->at("uploaded") == true) {
        const fs::path second = folder / ".taken";
        fs::remove(second, error);
        fs::create_hard_link(file, second, error);
        if (error) return {};  // without its file: left where it is
        const auto hash = record.vault().take(second);
        if (!hash) return tl::unexpected(hash.error());
        scan.sha256 = *hash;
        fs::remove(second, error);  // there still, if the vault had the file by that name already
    }
    const auto added = record.scans().add(scan);
    if (!added && added.error().code != ErrorCode::Conflict) return added;
    if (!scan.sha256.empty()) fs::remove(file, error);
    return move_aside(directory, folder / "scan.json", "scan-" + id + ".json");
}

Result<void> take_over_tray(const DataDirectory& directory, const record::Record& record) {
    if (!fs::exists(directory.tray_file())) return {};
    const Result<std::string> text = read_file(directory.tray_file());
    if (!text) return tl::unexpected(text.error());
    if (const auto tray = TrayShelf::check(*text, directory.tray_file().string()); !tray)
        return tl::unexpected(tray.error());
    if (auto added = record.trays().add(*text, ""); !added) return added;
    return move_aside(directory, directory.tray_file(), "tray.json");
}

Result<void> take_over_corrections(const DataDirectory& directory, const record::Record& record) {
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(directory.root() / "corrections", error)) {
        const std::string id = entry.path().stem().string();
        const Result<std::string> text = read_file(entry.path());
        if (!is_id(id) || !text) continue;
        // What is in the record already is newer.
        if (!record.cases().file(id, "corrections")) {
            const auto added =
                record.cases().add_file(id, {"corrections", *text, "corrections.json"}, "");
            if (!added && added.error().code == ErrorCode::NotFound) continue;  // a deleted case
            if (!added) return tl::unexpected(added.error());
        }
        if (auto moved = move_aside(directory, entry.path(), "corrections-" + id + ".json"); !moved)
            return moved;
    }
    return {};
}

}  // namespace

Result<void> take_over_first_folders(const DataDirectory& directory, const record::Record& record) {
    for (const std::string& id : ids_below(directory.cases())) {
        if (auto done = take_over_case(directory, record, id); !done) return done;
    }
    for (const std::string& id : ids_below(directory.scans())) {
        if (auto done = take_over_scan(directory, record, id); !done) return done;
    }
    if (auto done = take_over_corrections(directory, record); !done) return done;
    return take_over_tray(directory, record);
}

}  // namespace anfract::server
