#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "anfract/record/case_archive.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"
#include "anfract/record/zip_file.h"
#include "case_rows.h"
#include "rows.h"

namespace anfract::record {
namespace fs = std::filesystem;
using nlohmann::json;

namespace {

/// What goes into an archive, as of one moment.
struct Snapshot {
    std::string rows;
    std::map<std::string, std::string> files;  ///< name in the archive by SHA-256
};

/// A name that tells a person what the file is; a reader goes by the hash.
std::string name_of(const std::string& kind, std::int64_t version, const std::string& name) {
    const std::string told = "files/" + kind + "-" + std::to_string(version) + "/" + name;
    if (is_plain_path(told)) return told;
    const std::string plain = "files/" + kind + "-" + std::to_string(version);
    return is_plain_path(plain) ? plain : "files/file-" + std::to_string(version);
}

Result<Snapshot> snapshot_of(const Record& record, const std::string& case_id) {
    return record.store().read([&](soci::session& sql) -> Result<Snapshot> {
        if (auto there = require_case(sql, case_id); !there) return tl::unexpected(there.error());
        Snapshot snapshot;
        auto rows = case_rows(record.store(), sql, Store::newest_step(), case_id, true);
        if (!rows) return tl::unexpected(rows.error());
        for (const std::string& line : lines_of(*rows)) {
            snapshot.rows += portable_row(line) + "\n";
            const json row = json::parse(line);
            if (row[0] == "case_files") {
                // Columns as in tables_after: case_id, kind, version, made, author, name, type, sha
                snapshot.files.try_emplace(row[8], name_of(row[2], row[3], row[6]));
            } else if (row[0] == "scans" && row[5] != "") {
                snapshot.files.try_emplace(row[5], "files/scan");
            }
        }
        return snapshot;
    });
}

Result<void> add_entry(ZipWriter& zip, json& entries, const std::string& name, std::string bytes) {
    entries.push_back({{"name", name}, {"sha256", sha256_hex(bytes)}, {"bytes", bytes.size()}});
    return zip.add(name, std::move(bytes));
}

Result<void> add_beside(ZipWriter& zip, json& entries, const BesideFile& file) {
    const std::string name = "beside/" + file.name;
    if (!is_plain_path(name)) {
        return fail(ErrorCode::BadInput, "has a name that cannot be kept in an archive",
                    file.path.string(), "give it a plain name");
    }
    const Result<std::string> hash = sha256_of_file(file.path);
    if (!hash) return tl::unexpected(hash.error());
    std::error_code error;
    const std::uintmax_t bytes = fs::file_size(file.path, error);
    entries.push_back({{"name", name}, {"sha256", *hash}, {"bytes", bytes}});
    return zip.add_file(name, file.path);
}

Result<void> fill(ZipWriter& zip, const Record& record, const Snapshot& snapshot,
                  const std::vector<BesideFile>& beside, json& entries, const Progress& progress) {
    if (auto done = add_entry(zip, entries, "rows.jsonl", snapshot.rows); !done) return done;
    std::set<std::string> taken;
    for (const auto& [hash, name] : snapshot.files) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
        auto bytes = record.vault().get(hash);
        if (!bytes) return tl::unexpected(bytes.error());
        std::string own = name;
        for (int n = 2; !taken.insert(own).second; ++n) own = name + "-" + std::to_string(n);
        if (auto done = add_entry(zip, entries, own, std::move(*bytes)); !done) return done;
    }
    for (const BesideFile& file : beside) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
        if (auto done = add_beside(zip, entries, file); !done) return done;
    }
    return {};
}

}  // namespace

Result<CaseArchiveReport> export_case(const Record& record, const std::string& case_id,
                                      const std::vector<BesideFile>& beside, const fs::path& place,
                                      const Progress& progress) {
    if (!is_case_id(case_id)) return tl::unexpected(no_such_case(case_id));
    const Result<Snapshot> snapshot = snapshot_of(record, case_id);
    if (!snapshot) return tl::unexpected(snapshot.error());
    Result<ZipWriter> zip = ZipWriter::begin(place);
    if (!zip) return tl::unexpected(zip.error());
    json entries = json::array();
    if (auto filled = fill(*zip, record, *snapshot, beside, entries, progress); !filled)
        return tl::unexpected(filled.error());
    CaseArchiveReport report;
    report.case_id = case_id;
    report.rows = std::count(snapshot->rows.begin(), snapshot->rows.end(), '\n');
    report.files = static_cast<std::int64_t>(entries.size()) - 1;
    for (const json& entry : entries) report.bytes += entry.at("bytes").get<std::int64_t>();
    const json manifest{
        {"format", "anfract.archive"},         {"version", 1},    {"made", now_text()},
        {"schema_step", Store::newest_step()}, {"case", case_id}, {"entries", entries}};
    if (auto done = zip->add("manifest.json", manifest.dump(1) + "\n"); !done)
        return tl::unexpected(done.error());
    if (auto done = zip->finish(progress); !done) return tl::unexpected(done.error());
    return report;
}

}  // namespace anfract::record
