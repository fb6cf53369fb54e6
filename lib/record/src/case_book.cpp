#include "anfract/record/case_book.h"

#include <nlohmann/json.hpp>

#include "anfract/base/json_text.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"
#include "rows.h"
#include "search_words.h"

namespace anfract::record {
using soci::into;
using soci::use;

namespace {

std::int64_t newest_version(soci::session& sql, const std::string& id, const std::string& kind) {
    long long version = 0;
    sql << "SELECT COALESCE(MAX(version), 0) FROM case_files WHERE case_id = :id AND kind = :kind",
        use(id), use(kind), into(version);
    return version;
}

void insert_file(soci::session& sql, const std::string& id, const CaseFile& file) {
    const long long version = file.version, bytes = file.bytes;
    sql << "INSERT INTO case_files (case_id, kind, version, made, author, name, media_type, sha256,"
           " bytes) VALUES (:id, :kind, :version, :made, :author, :name, :type, :sha, :bytes)",
        use(id), use(file.kind), use(version), use(file.made), use(file.author), use(file.name),
        use(file.media_type), use(file.sha256), use(bytes);
}

CaseFile described(const NewCaseFile& file, const std::string& author, std::string hash) {
    CaseFile row;
    row.kind = file.kind;
    row.made = now_text();
    row.author = author;
    row.name = file.name;
    row.media_type = file.media_type;
    row.sha256 = std::move(hash);
    row.bytes = static_cast<std::int64_t>(file.bytes.size());
    return row;
}

/// Runs a query for files whose columns are in the order of CaseFile.
std::vector<CaseFile> fetch_files(soci::session& sql, const std::string& id) {
    std::vector<CaseFile> files;
    CaseFile row;
    long long version = 0, bytes = 0;
    soci::statement query =
        (sql.prepare << "SELECT kind, version, made, author, name, media_type, sha256, bytes"
                        " FROM case_files WHERE case_id = :id ORDER BY kind, version",
         use(id), into(row.kind), into(version), into(row.made), into(row.author), into(row.name),
         into(row.media_type), into(row.sha256), into(bytes));
    query.execute();
    while (query.fetch()) {
        row.version = version;
        row.bytes = bytes;
        files.push_back(row);
    }
    return files;
}

/// True when a case was changed.
bool mark(soci::session& sql, const std::string& id, const std::string& from,
          const std::string& to) {
    soci::statement change = (sql.prepare << "UPDATE cases SET set_aside = :to WHERE id = :id AND "
                                          << (from.empty() ? "set_aside = ''" : "set_aside <> ''"),
                              use(to), use(id));
    change.execute(true);
    return change.get_affected_rows() > 0;
}

}  // namespace

nlohmann::json kept_json(std::string_view text) {
    Result<nlohmann::json> value = parse_json(text, "");
    if (!value) throw DamagedDocument(value.error().what);
    return std::move(*value);
}

Error no_such_case(const std::string& id) {
    return {ErrorCode::NotFound, "there is no such case", id, "ask for the list of cases"};
}

Result<void> require_case(soci::session& sql, const std::string& id) {
    long long count = 0;
    sql << "SELECT COUNT(*) FROM cases WHERE id = :id AND set_aside = ''", use(id), into(count);
    if (count == 0) return tl::unexpected(no_such_case(id));
    return {};
}

Result<CaseEntry> CaseBook::add(CaseEntry entry, const NewCaseFile& file,
                                const std::string& author) const {
    if (entry.id.empty()) entry.id = random_hex(8);
    if (entry.created.empty()) entry.created = now_text();
    // First the bytes: a file that no row names is harmless, a row without its file is not.
    const Result<std::string> hash = vault_.put(file.bytes);
    if (!hash) return tl::unexpected(hash.error());
    CaseFile row = described(file, author, *hash);
    row.version = 1;
    return store_.write([&](soci::session& sql) -> Result<CaseEntry> {
        long long count = 0;
        sql << "SELECT COUNT(*) FROM cases WHERE id = :id", use(entry.id), into(count);
        if (count > 0)
            return fail(ErrorCode::Conflict, "there is a case of this id already", entry.id);
        const long long invented = entry.invented ? 1 : 0;
        const std::string words = search_words({entry.label, entry.fdi});
        sql << "INSERT INTO cases (id, created, scan, fdi, label, invented, set_aside, words)"
               " VALUES (:id, :created, :scan, :fdi, :label, :invented, '', :words)",
            use(entry.id), use(entry.created), use(entry.scan), use(entry.fdi), use(entry.label),
            use(invented), use(words);
        insert_file(sql, entry.id, row);
        return entry;
    });
}

Result<std::vector<CaseEntry>> CaseBook::list(const std::string& words, std::int64_t limit,
                                              std::int64_t offset) const {
    const std::vector<std::string> patterns = search_patterns(words);
    return store_.read([&](soci::session& sql) -> Result<std::vector<CaseEntry>> {
        std::string text =
            "SELECT id, created, scan, fdi, label, invented FROM cases WHERE set_aside = ''";
        for (std::size_t i = 0; i < patterns.size(); ++i)
            text += " AND words LIKE :word" + std::to_string(i) + " ESCAPE '!'";
        text += " ORDER BY created DESC, id";
        if (limit >= 0)
            text += " LIMIT " + std::to_string(limit) + " OFFSET " + std::to_string(offset);
        std::vector<CaseEntry> all;
        CaseEntry row;
        long long invented = 0;
        soci::statement query(sql);
        for (const std::string& pattern : patterns) query.exchange(use(pattern));
        query.exchange(into(row.id));
        query.exchange(into(row.created));
        query.exchange(into(row.scan));
        query.exchange(into(row.fdi));
        query.exchange(into(row.label));
        query.exchange(into(invented));
        query.alloc();
        query.prepare(text);
        query.define_and_bind();
        query.execute();
        while (query.fetch()) {
            row.invented = invented != 0;
            all.push_back(row);
        }
        return all;
    });
}

Result<CaseEntry> CaseBook::find(const std::string& id) const {
    return store_.read([&](soci::session& sql) -> Result<CaseEntry> {
        CaseEntry row;
        long long invented = 0;
        sql << "SELECT id, created, scan, fdi, label, invented FROM cases"
               " WHERE id = :id AND set_aside = ''",
            use(id), into(row.id), into(row.created), into(row.scan), into(row.fdi),
            into(row.label), into(invented);
        if (!sql.got_data()) return tl::unexpected(no_such_case(id));
        row.invented = invented != 0;
        return row;
    });
}

Result<void> CaseBook::set_aside(const std::string& id) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        if (!mark(sql, id, "", now_text())) return tl::unexpected(no_such_case(id));
        return {};
    });
}

Result<void> CaseBook::bring_back(const std::string& id) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        if (!mark(sql, id, "any", "")) {
            return fail(ErrorCode::NotFound, "no case of this id was set aside", id,
                        "check the id");
        }
        return {};
    });
}

Result<CaseFile> CaseBook::add_file(const std::string& id, const NewCaseFile& file,
                                    const std::string& author,
                                    std::optional<std::int64_t> base) const {
    const Result<std::string> hash = vault_.put(file.bytes);
    if (!hash) return tl::unexpected(hash.error());
    CaseFile row = described(file, author, *hash);
    return store_.write([&](soci::session& sql) -> Result<CaseFile> {
        if (auto there = require_case(sql, id); !there) return tl::unexpected(there.error());
        const std::int64_t newest = newest_version(sql, id, file.kind);
        if (base && *base != newest) {
            return fail(ErrorCode::Conflict,
                        "version " + std::to_string(newest) + " has been stored since version " +
                            std::to_string(*base),
                        file.kind, "look at the newer one and make the change again");
        }
        row.version = newest + 1;
        insert_file(sql, id, row);
        return row;
    });
}

Result<std::vector<CaseFile>> CaseBook::files(const std::string& id) const {
    return store_.read([&](soci::session& sql) -> Result<std::vector<CaseFile>> {
        if (auto there = require_case(sql, id); !there) return tl::unexpected(there.error());
        return fetch_files(sql, id);
    });
}

Result<CaseFile> CaseBook::file(const std::string& id, const std::string& kind,
                                std::optional<std::int64_t> version) const {
    const Result<std::vector<CaseFile>> all = files(id);
    if (!all) return tl::unexpected(all.error());
    for (auto row = all->rbegin(); row != all->rend(); ++row) {
        if (row->kind == kind && (!version || row->version == *version)) return *row;
    }
    return fail(ErrorCode::NotFound, "the case has no such file", kind, "look at its files");
}

}  // namespace anfract::record
