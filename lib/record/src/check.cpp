#include <nlohmann/json.hpp>

#include "anfract/base/json_text.h"
#include "anfract/record/archive.h"
#include "named_files.h"

namespace anfract::record {
using nlohmann::json;
using soci::into;

namespace {

std::vector<std::string> column_of(soci::session& sql, const std::string& query) {
    std::vector<std::string> values;
    std::string value;
    soci::statement statement = (sql.prepare << query, into(value));
    statement.execute();
    while (statement.fetch()) values.push_back(value);
    return values;
}

/// SQLite can tell whether its file is sound; PostgreSQL keeps that to itself.
void check_database(soci::session& sql, CheckReport& report) {
    for (const std::string& complaint : column_of(sql, "PRAGMA integrity_check")) {
        if (complaint != "ok") report.problems.push_back("the database is damaged: " + complaint);
    }
    for (const std::string& table : column_of(sql, "PRAGMA foreign_key_check"))
        report.problems.push_back("a row of " + table + " belongs to nothing");
}

void check_documents(soci::session& sql, CheckReport& report) {
    std::string id, content;
    soci::statement query =
        (sql.prepare << "SELECT case_id, content FROM case_records", into(id), into(content));
    query.execute();
    while (query.fetch()) {
        if (!parse_json(content, ""))
            report.problems.push_back("case " + id + ": a version of its record is damaged");
    }
}

void check_files(const Record& record, const std::set<std::string>& named, CheckReport& report,
                 const Progress& progress) {
    for (const std::string& hash : named) {
        if (progress.cancelled()) return;
        progress.report(double(report.files) / double(named.size()), "checking files");
        const Result<std::int64_t> bytes = record.vault().verify(hash);
        ++report.files;
        if (bytes) {
            report.file_bytes += *bytes;
        } else {
            report.problems.push_back(bytes.error().sentence());
        }
    }
    for (const std::string& hash : record.vault().list()) {
        if (!named.contains(hash)) ++report.unnamed_files;
    }
}

}  // namespace

std::set<std::string> named_files(soci::session& sql, int step) {
    std::set<std::string> hashes;
    for (std::string& hash : column_of(sql, "SELECT sha256 FROM case_files")) hashes.insert(hash);
    if (step >= 2) {
        for (std::string& hash : column_of(sql, "SELECT sha256 FROM scans WHERE sha256 <> ''"))
            hashes.insert(hash);
    }
    return hashes;
}

Result<CheckReport> check(const Record& record, const Progress& progress) {
    CheckReport report;
    std::set<std::string> named;
    std::vector<std::string> ids;
    const Result<void> read = record.store().read([&](soci::session& sql) -> Result<void> {
        report = {};
        if (!record.store().is_postgresql()) check_database(sql, report);
        check_documents(sql, report);
        named = named_files(sql, Store::newest_step());
        ids = column_of(sql, "SELECT id FROM cases");
        return {};
    });
    if (!read) return tl::unexpected(read.error());
    report.cases = static_cast<std::int64_t>(ids.size());
    for (const std::string& id : ids) {
        const auto entries = record.log().entries(id, TreatmentLog::AlsoSetAside::Yes);
        if (!entries) return tl::unexpected(entries.error());
        report.entries += static_cast<std::int64_t>(entries->size());
        if (const int broken = first_broken_link(id, *entries); broken >= 0) {
            report.problems.push_back("case " + id + ": the chain of its log is broken at entry " +
                                      std::to_string(broken + 1));
        }
    }
    const Result<std::int64_t> broken_line = record.access().first_broken();
    if (!broken_line) return tl::unexpected(broken_line.error());
    if (*broken_line > 0) {
        report.problems.push_back("the chain of the access trail is broken at line " +
                                  std::to_string(*broken_line));
    }
    check_files(record, named, report, progress);
    if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
    return report;
}

}  // namespace anfract::record
