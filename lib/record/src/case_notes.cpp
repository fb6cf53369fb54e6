#include "anfract/record/case_notes.h"

#include "anfract/base/json_document.h"
#include "anfract/record/canonical_json.h"
#include "anfract/record/instant.h"
#include "rows.h"
#include "search_words.h"

namespace anfract::record {
using nlohmann::json;
using soci::into;
using soci::use;

namespace {

json empty_notes() { return {{"format", "anfract.case"}, {"version", 1}}; }

/// The newest version, or one of that number; version 0 when there is none.
NotesVersion fetch(soci::session& sql, const std::string& case_id,
                   std::optional<std::int64_t> wanted) {
    NotesVersion found;
    long long version = 0;
    std::string content;
    const long long number = wanted.value_or(0);
    const std::string query =
        "SELECT version, made, author, content FROM case_records"
        " WHERE case_id = :id";
    if (wanted) {
        sql << query << " AND version = :version", use(case_id), use(number), into(version),
            into(found.made), into(found.author), into(content);
    } else {
        sql << query << " ORDER BY version DESC LIMIT 1", use(case_id), into(version),
            into(found.made), into(found.author), into(content);
    }
    found.version = version;
    found.notes = version == 0 ? empty_notes() : kept_json(content);
    return found;
}

/// What a case can be found by.
void refresh_words(soci::session& sql, const std::string& case_id, const json& notes) {
    std::string label, fdi;
    sql << "SELECT label, fdi FROM cases WHERE id = :id", use(case_id), into(label), into(fdi);
    std::vector<std::string> texts{label, fdi};
    const auto add = [&](const char* part, const char* key) {
        const auto found = notes.find(part);
        if (found != notes.end() && found->contains(key))
            texts.push_back(found->at(key).get<std::string>());
    };
    add("patient", "name");
    add("patient", "reference");
    add("referral", "from");
    add("diagnosis", "pulpal");
    add("diagnosis", "apical");
    const std::string words = search_words(texts);
    sql << "UPDATE cases SET words = :words WHERE id = :id", use(words), use(case_id);
}

}  // namespace

Result<NotesVersion> CaseNotes::find(const std::string& case_id,
                                     std::optional<std::int64_t> version) const {
    return store_.read([&](soci::session& sql) -> Result<NotesVersion> {
        if (auto there = require_case(sql, case_id); !there) return tl::unexpected(there.error());
        NotesVersion found = fetch(sql, case_id, version);
        if (version && found.version == 0) {
            return fail(ErrorCode::NotFound, "the record has no such version",
                        std::to_string(*version), "look at its versions");
        }
        return found;
    });
}

Result<std::vector<NotesVersion>> CaseNotes::versions(const std::string& case_id) const {
    return store_.read([&](soci::session& sql) -> Result<std::vector<NotesVersion>> {
        if (auto there = require_case(sql, case_id); !there) return tl::unexpected(there.error());
        std::vector<NotesVersion> all;
        NotesVersion row;
        long long version = 0;
        soci::statement query =
            (sql.prepare << "SELECT version, made, author FROM case_records WHERE case_id = :id"
                            " ORDER BY version",
             use(case_id), into(version), into(row.made), into(row.author));
        query.execute();
        while (query.fetch()) {
            row.version = version;
            all.push_back(row);
        }
        return all;
    });
}

Result<CaseNotes::Saved> CaseNotes::save(const std::string& case_id, std::int64_t based_on,
                                         json notes, const std::string& author) const {
    if (notes.is_object()) notes.update(empty_notes());
    const Result<json> checked = parse_document(
        notes.dump(-1, ' ', false, json::error_handler_t::replace), "anfract.case", "record");
    if (!checked) return tl::unexpected(checked.error());
    return store_.write([&](soci::session& sql) -> Result<Saved> {
        if (auto there = require_case(sql, case_id); !there) return tl::unexpected(there.error());
        NotesVersion newest = fetch(sql, case_id, {});
        if (newest.notes == *checked && newest.version > 0) return Saved(std::move(newest));
        if (newest.version != based_on) return Saved(NotesConflict{std::move(newest)});
        NotesVersion next{based_on + 1, now_text(), author, *checked};
        const long long number = next.version;
        const std::string content = canonical_json(next.notes);
        sql << "INSERT INTO case_records (case_id, version, made, author, content)"
               " VALUES (:id, :version, :made, :author, :content)",
            use(case_id), use(number), use(next.made), use(next.author), use(content);
        refresh_words(sql, case_id, next.notes);
        return Saved(std::move(next));
    });
}

}  // namespace anfract::record
