#include "anfract/record/scan_book.h"

#include <nlohmann/json.hpp>

#include "named_files.h"
#include "rows.h"

namespace anfract::record {
using soci::into;
using soci::use;

namespace {

Error no_such_scan(const std::string& id) {
    return {ErrorCode::NotFound, "there is no such scan", id, "ask for the list of scans"};
}

std::vector<KeptScan> fetch(soci::session& sql, const std::string& id) {
    std::vector<KeptScan> scans;
    KeptScan scan;
    soci::statement query =
        (sql.prepare << "SELECT id, created, content, name, sha256 FROM scans"
                        " WHERE id = :id OR :any = '' ORDER BY created DESC, id",
         use(id), use(id), into(scan.id), into(scan.created), into(scan.content), into(scan.name),
         into(scan.sha256));
    query.execute();
    while (query.fetch()) scans.push_back(scan);
    return scans;
}

}  // namespace

bool describes_scan(const nlohmann::json& description) {
    if (!description.is_object()) return false;
    for (const char* key : {"path", "series_uid", "label", "created"}) {
        if (description.contains(key) && !description.at(key).is_string()) return false;
    }
    return true;
}

Result<void> ScanBook::add(const KeptScan& scan) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        if (!fetch(sql, scan.id).empty())
            return fail(ErrorCode::Conflict, "there is a scan of that id", scan.id, "");
        sql << "INSERT INTO scans (id, created, content, name, sha256)"
               " VALUES (:id, :created, :content, :name, :sha)",
            use(scan.id), use(scan.created), use(scan.content), use(scan.name), use(scan.sha256);
        return {};
    });
}

Result<std::vector<KeptScan>> ScanBook::list() const {
    return store_.read(
        [&](soci::session& sql) -> Result<std::vector<KeptScan>> { return fetch(sql, ""); });
}

Result<KeptScan> ScanBook::find(const std::string& id) const {
    return store_.read([&](soci::session& sql) -> Result<KeptScan> {
        const auto found = id.empty() ? std::vector<KeptScan>() : fetch(sql, id);
        if (found.empty()) return tl::unexpected(no_such_scan(id));
        return found.front();
    });
}

Result<void> ScanBook::give_file(const KeptScan& scan) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        if (scan.id.empty() || fetch(sql, scan.id).empty())
            return tl::unexpected(no_such_scan(scan.id));
        sql << "UPDATE scans SET content = :content, name = :name, sha256 = :sha WHERE id = :id",
            use(scan.content), use(scan.name), use(scan.sha256), use(scan.id);
        return {};
    });
}

Result<bool> ScanBook::remove(const std::string& id) const {
    return store_.write([&](soci::session& sql) -> Result<bool> {
        const auto found = id.empty() ? std::vector<KeptScan>() : fetch(sql, id);
        if (found.empty()) return tl::unexpected(no_such_scan(id));
        sql << "DELETE FROM scans WHERE id = :id", use(id);
        const std::string& hash = found.front().sha256;
        return !hash.empty() && !named_files(sql, Store::newest_step()).contains(hash);
    });
}

}  // namespace anfract::record
