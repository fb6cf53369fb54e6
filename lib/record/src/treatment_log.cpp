#include "anfract/record/treatment_log.h"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "anfract/base/json_document.h"
#include "anfract/record/canonical_json.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"
#include "log_uses.h"
#include "rows.h"

namespace anfract::record {
using nlohmann::json;
using soci::into;
using soci::use;

namespace {

constexpr std::array sent_keys{"entry_id", "at",      "kind", "canal", "device",
                               "depth_mm", "seconds", "text", "step",  "corrects"};

/// One row of log_entries.
struct Row {
    long long sequence = 0;
    std::string entry_id, sent, received, author, previous_sha256, sha256;
};

json entry_of(const Row& row) {
    json entry = kept_json(row.sent);
    if (!entry.is_object()) throw DamagedDocument("is no entry of a log");
    entry["sequence"] = row.sequence;
    entry["received"] = row.received;
    entry["author"] = row.author;
    entry["previous_sha256"] = row.previous_sha256;
    return entry;
}

json entry_with_hash(const Row& row) {
    json entry = entry_of(row);
    entry["sha256"] = row.sha256;
    return entry;
}

std::vector<Row> fetch(soci::session& sql, const std::string& case_id) {
    std::vector<Row> rows;
    Row row;
    soci::statement query =
        (sql.prepare << "SELECT sequence, entry_id, sent, received, author, previous_sha256, sha256"
                        " FROM log_entries WHERE case_id = :id ORDER BY sequence",
         use(case_id), into(row.sequence), into(row.entry_id), into(row.sent), into(row.received),
         into(row.author), into(row.previous_sha256), into(row.sha256));
    query.execute();
    while (query.fetch()) rows.push_back(row);
    return rows;
}

tl::unexpected<Error> refuse(const std::string& entry_id, const std::string& what,
                             const std::string& remedy) {
    return fail(ErrorCode::BadInput, what, "entry " + entry_id, remedy);
}

/// What the schema does not say: which keys a kind needs.
Result<void> check_kind(const json& entry) {
    const std::string kind = entry.at("kind"), id = entry.at("entry_id");
    const auto needs = [&](const char* key) { return !entry.contains(key); };
    if (!parse_instant(entry.at("at").get<std::string>()))
        return refuse(id, "key 'at' is no date and time", "give ISO 8601 with an offset");
    if (kind == "depth-measured" && (needs("canal") || needs("depth_mm")))
        return refuse(id, "a measured depth needs 'canal' and 'depth_mm'", "give both");
    if (kind.starts_with("device-") && needs("device"))
        return refuse(id, "'" + kind + "' needs 'device'", "say which device");
    if ((kind == "correction") != entry.contains("corrects"))
        return refuse(id, "'corrects' belongs to a correction, and a correction needs it",
                      "give the entry_id of the entry that is corrected");
    return {};
}

/// The entries of a document, known keys only, ids in lower case.
Result<std::vector<json>> entries_of(json document) {
    if (!document.is_object())
        return fail(ErrorCode::BadInput, "is not a JSON object", "log",
                    "send {\"entries\": [...]}");
    if (!document.contains("format")) document["format"] = "anfract.log";
    if (!document.contains("version")) document["version"] = 1;
    const Result<json> checked = parse_document(
        document.dump(-1, ' ', false, json::error_handler_t::replace), "anfract.log", "log");
    if (!checked) return tl::unexpected(checked.error());
    std::vector<json> entries;
    for (const json& given : checked->at("entries")) {
        json entry;
        for (const char* key : sent_keys) {
            const auto found = given.find(key);
            if (found != given.end() && !found->is_null()) entry[key] = *found;
        }
        for (const char* key : {"entry_id", "corrects"}) {
            if (!entry.contains(key)) continue;
            std::string id = entry[key];
            std::transform(id.begin(), id.end(), id.begin(),
                           [](unsigned char letter) { return std::tolower(letter); });
            entry[key] = id;
        }
        if (auto right = check_kind(entry); !right) return tl::unexpected(right.error());
        entries.push_back(std::move(entry));
    }
    return entries;
}

void insert(soci::session& sql, const std::string& case_id, const Row& row) {
    sql << "INSERT INTO log_entries (case_id, sequence, entry_id, sent, received, author,"
           " previous_sha256, sha256) VALUES (:case, :sequence, :entry, :sent, :received, :author,"
           " :previous, :sha)",
        use(case_id), use(row.sequence), use(row.entry_id), use(row.sent), use(row.received),
        use(row.author), use(row.previous_sha256), use(row.sha256);
}

std::string hash_of(const json& entry_without_hash) {
    return sha256_hex(canonical_json(entry_without_hash));
}

}  // namespace

Result<void> check_logged(const std::vector<json>& entries) {
    const auto checked = entries_of({{"entries", entries}});
    if (!checked) return tl::unexpected(checked.error());
    return {};
}

std::string chain_start(const std::string& case_id) { return sha256_hex(case_id); }

Result<std::vector<json>> TreatmentLog::append(const std::string& case_id, json document,
                                               const std::string& author) const {
    const Result<std::vector<json>> sent = entries_of(std::move(document));
    if (!sent) return tl::unexpected(sent.error());
    return store_.write([&](soci::session& sql) -> Result<std::vector<json>> {
        if (auto there = require_case(sql, case_id); !there) return tl::unexpected(there.error());
        const std::vector<Row> before = fetch(sql, case_id);
        std::map<std::string, Row> known;
        for (const Row& row : before) known[row.entry_id] = row;
        std::string previous = before.empty() ? chain_start(case_id) : before.back().sha256;
        auto sequence = static_cast<long long>(before.size());
        std::vector<json> acknowledged;
        for (const json& entry : *sent) {
            const std::string id = entry.at("entry_id"), text = canonical_json(entry);
            if (const auto found = known.find(id); found != known.end()) {
                if (found->second.sent != text) {
                    return fail(ErrorCode::Conflict, "is stored already with other content",
                                "entry " + id, "give a new entry an id of its own");
                }
                acknowledged.push_back(entry_with_hash(found->second));
                continue;
            }
            if (entry.contains("corrects") && !known.contains(entry.at("corrects")))
                return refuse(id, "corrects an entry that is not in the log", "check its id");
            Row row{++sequence, id, text, now_text(), author, previous, ""};
            row.sha256 = hash_of(entry_of(row));
            insert(sql, case_id, row);
            count_use(sql, case_id, entry);
            previous = row.sha256;
            known[id] = row;
            acknowledged.push_back(entry_with_hash(row));
        }
        return acknowledged;
    });
}

Result<std::vector<json>> TreatmentLog::entries(const std::string& case_id,
                                                AlsoSetAside also) const {
    return store_.read([&](soci::session& sql) -> Result<std::vector<json>> {
        if (const auto there = require_case(sql, case_id); !there && also == AlsoSetAside::No)
            return tl::unexpected(there.error());
        std::vector<json> entries;
        for (const Row& row : fetch(sql, case_id)) entries.push_back(entry_with_hash(row));
        return entries;
    });
}

int first_broken_link(const std::string& case_id, const std::vector<json>& entries) {
    std::string previous = chain_start(case_id);
    for (std::size_t i = 0; i < entries.size(); ++i) {
        json entry = entries[i];
        const std::string hash = entry.value("sha256", "");
        entry.erase("sha256");
        if (entry.value("sequence", std::size_t{0}) != i + 1 ||
            entry.value("previous_sha256", "") != previous || hash_of(entry) != hash)
            return static_cast<int>(i);
        previous = hash;
    }
    return -1;
}

std::vector<json> corrected(const std::vector<json>& entries) {
    std::vector<json> now;
    std::map<std::string, std::size_t> place;  // of an entry, or of the one it corrects
    for (const json& entry : entries) {
        const std::string id = entry.at("entry_id");
        if (!entry.contains("corrects")) {
            place[id] = now.size();
            now.push_back(entry);
            continue;
        }
        const auto found = place.find(entry.at("corrects"));
        if (found == place.end()) continue;
        json& old = now[found->second];
        json replacement = entry;
        replacement["kind"] = old.at("kind");
        replacement["at"] = old.at("at");
        for (const char* key : {"canal", "device", "step"}) {
            if (!replacement.contains(key) && old.contains(key)) replacement[key] = old[key];
        }
        place[id] = found->second;
        old = std::move(replacement);
    }
    return now;
}

std::map<std::string, double> measured_depths_mm(const std::vector<json>& entries) {
    std::map<std::string, double> depths_mm;
    std::map<std::string, Instant> latest;
    for (const json& entry : corrected(entries)) {
        if (entry.at("kind") != "depth-measured" || !entry.contains("depth_mm")) continue;
        const std::string canal = entry.at("canal");
        const auto at = parse_instant(entry.at("at").get<std::string>()).value_or(Instant());
        const auto [known, is_new] = latest.try_emplace(canal, at);
        if (!is_new && at < known->second) continue;
        known->second = at;
        depths_mm[canal] = entry.at("depth_mm");
    }
    return depths_mm;
}

}  // namespace anfract::record
