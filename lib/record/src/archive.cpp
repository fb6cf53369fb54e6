#include "anfract/record/archive.h"

#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/base/file.h"
#include "anfract/base/json_document.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"
#include "named_files.h"
#include "row_text.h"

namespace anfract::record {
namespace fs = std::filesystem;
using nlohmann::json;

namespace {

tl::unexpected<Error> cancelled() { return fail(ErrorCode::Cancelled, "stopped before the end"); }

Error damaged(const std::string& what, const fs::path& where) {
    return {ErrorCode::BadInput, what, where.string(), "use another backup"};
}

/// All rows as the text of rows.jsonl. Held in memory: rows are small, scans and teeth are files.
Result<std::string> rows_text(const Store& store, soci::session& sql, int step,
                              std::int64_t& count) {
    std::string text;
    count = 0;
    const auto read = read_rows(store, sql, step, [&](const std::string& line) -> Result<void> {
        text += line + "\n";
        ++count;
        return {};
    });
    if (!read) return tl::unexpected(read.error());
    return text;
}

Result<void> fill_backup(const Record& record, const fs::path& folder, const Progress& progress,
                         ArchiveReport& report) {
    std::set<std::string> hashes;
    const Result<std::string> rows =
        record.store().read([&](soci::session& sql) -> Result<std::string> {
            hashes = named_files(sql, Store::newest_step());
            return rows_text(record.store(), sql, Store::newest_step(), report.rows);
        });
    if (!rows) return tl::unexpected(rows.error());
    Result<FileVault> copies = FileVault::open(folder / "files");
    if (!copies) return tl::unexpected(copies.error());
    json files = json::array();
    for (const std::string& hash : hashes) {
        if (progress.cancelled()) return cancelled();
        progress.report(double(files.size()) / double(hashes.size()), "copying files");
        const Result<std::int64_t> bytes = copies->copy_from(record.vault(), hash);
        if (!bytes) return tl::unexpected(bytes.error());
        files.push_back({{"sha256", hash}, {"bytes", *bytes}});
        report.bytes += *bytes;
    }
    report.files = static_cast<std::int64_t>(files.size());
    if (auto written = write_file_atomically(folder / "rows.jsonl", *rows, 0600); !written)
        return written;
    const json manifest{{"format", "anfract.backup"},
                        {"version", 1},
                        {"made", now_text()},
                        {"schema_step", Store::newest_step()},
                        {"rows", {{"sha256", sha256_hex(*rows)}, {"count", report.rows}}},
                        {"files", files}};
    return write_file_atomically(folder / "manifest.json", manifest.dump(1) + "\n", 0600);
}

/// Puts rows into an empty record and reads them back.
Result<void> fill_record(const Store& store, const std::string& rows, int step) {
    return store.write([&](soci::session& sql) -> Result<void> {
        std::int64_t there = 0;
        if (const auto before = rows_text(store, sql, step, there); !before)
            return tl::unexpected(before.error());
        if (there > 0) {
            return fail(ErrorCode::BadInput, "the record is not empty", "",
                        "restore to a new place");
        }
        for (std::size_t begin = 0; begin < rows.size();) {
            const std::size_t end = std::min(rows.find('\n', begin), rows.size());
            if (auto row = write_row(sql, step, rows.substr(begin, end - begin)); !row) return row;
            begin = end + 1;
        }
        const auto back = rows_text(store, sql, step, there);
        if (!back) return tl::unexpected(back.error());
        if (*back != rows) return tl::unexpected(damaged("does not come back equal", "rows.jsonl"));
        return {};
    });
}

/// The manifest and the rows it names, checked. Errors: BadInput.
struct Backup {
    json manifest;
    std::string rows;
};
Result<Backup> read_backup(const fs::path& folder) {
    const Result<json> manifest = read_document(folder / "manifest.json", "anfract.backup");
    if (!manifest) return tl::unexpected(manifest.error());
    const int step = manifest->at("schema_step");
    if (step < 1 || step > Store::newest_step()) {
        return fail(ErrorCode::BadInput, "was made by a newer program", folder.string(),
                    "restore it with that program");
    }
    const Result<std::string> rows = read_file(folder / "rows.jsonl", std::size_t{1} << 34);
    if (!rows) return tl::unexpected(rows.error());
    if (manifest->at("rows").at("sha256") != json(sha256_hex(*rows)))
        return tl::unexpected(damaged("has changed since the backup", folder / "rows.jsonl"));
    return Backup{*manifest, *rows};
}

}  // namespace

Result<ArchiveReport> backup(const Record& record, const fs::path& folder,
                             const Progress& progress) {
    std::error_code error;
    if (fs::exists(folder, error)) {
        return fail(ErrorCode::BadInput, "there is something already", folder.string(),
                    "name a new folder");
    }
    const fs::path draft = folder.string() + ".part-" + random_hex(4);
    if (!fs::create_directory(draft, error)) {
        return fail(ErrorCode::Io, "cannot be made (" + error.message() + ")", folder.string(),
                    "name a folder in one that is there and can be written to");
    }
    fs::permissions(draft, fs::perms::owner_all, error);
    ArchiveReport report;
    const Result<void> filled = fill_backup(record, draft, progress, report);
    if (filled) fs::rename(draft, folder, error);
    if (!filled || error) {
        const std::string reason = error.message();
        fs::remove_all(draft, error);
        if (!filled) return tl::unexpected(filled.error());
        return fail(ErrorCode::Io, "cannot be put into place (" + reason + ")", folder.string(),
                    "check the disk");
    }
    return report;
}

Result<ArchiveReport> restore(const fs::path& folder, const RecordPlace& place,
                              const Progress& progress) {
    const Result<Backup> kept = read_backup(folder);
    if (!kept) return tl::unexpected(kept.error());
    const FileVault copies = FileVault::at(folder / "files");
    Result<FileVault> vault = FileVault::open(place.files);
    if (!vault) return tl::unexpected(vault.error());
    ArchiveReport report;
    const json& files = kept->manifest.at("files");
    for (const json& file : files) {
        if (progress.cancelled()) return cancelled();
        progress.report(double(report.files) / double(files.size()), "checking and copying files");
        const std::string hash = file.at("sha256");
        if (!is_sha256(hash)) return tl::unexpected(damaged("names a file wrongly", folder));
        const Result<std::int64_t> bytes = vault->copy_from(copies, hash);
        if (!bytes) return tl::unexpected(bytes.error());
        ++report.files;
        report.bytes += *bytes;
    }
    const int step = kept->manifest.at("schema_step");
    {
        const Result<std::unique_ptr<Store>> store = Store::open(place.database, step);
        if (!store) return tl::unexpected(store.error());
        if (auto filled = fill_record(**store, kept->rows, step); !filled)
            return tl::unexpected(filled.error());
    }
    report.rows = kept->manifest.at("rows").at("count");
    // An older backup is brought forward once it stands.
    if (auto record = Record::open(place); !record) return tl::unexpected(record.error());
    return report;
}

}  // namespace anfract::record
