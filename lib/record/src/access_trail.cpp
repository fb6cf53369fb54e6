#include "anfract/record/access_trail.h"

#include <nlohmann/json.hpp>

#include "anfract/record/canonical_json.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"
#include "rows.h"

namespace anfract::record {
using soci::into;
using soci::use;

namespace {

std::string start_of_chain() { return sha256_hex("access"); }

std::string hash_of(const Access& line) {
    return sha256_hex(canonical_json({{"sequence", line.sequence},
                                      {"at", line.at},
                                      {"account", line.account},
                                      {"what", line.what},
                                      {"subject", line.subject},
                                      {"previous_sha256", line.previous_sha256}}));
}

const char* const columns =
    "SELECT sequence, at, account, what, subject, previous_sha256, sha256 FROM access_lines ";

void insert(soci::session& sql, const Access& line) {
    const long long sequence = line.sequence;
    sql << "INSERT INTO access_lines (sequence, at, account, what, subject, previous_sha256,"
           " sha256) VALUES (:sequence, :at, :account, :what, :subject, :previous, :sha)",
        use(sequence), use(line.at), use(line.account), use(line.what), use(line.subject),
        use(line.previous_sha256), use(line.sha256);
}

}  // namespace

Result<void> AccessTrail::add(const std::vector<Access>& lines) const {
    return store_.write([&](soci::session& sql) -> Result<void> {
        long long last = 0;
        std::string previous = start_of_chain();
        sql << "SELECT COALESCE(MAX(sequence), 0) FROM access_lines", into(last);
        if (last > 0) {
            sql << "SELECT sha256 FROM access_lines WHERE sequence = :last", use(last),
                into(previous);
        }
        for (const Access& given : lines) {
            Access line = given;
            line.sequence = ++last;
            if (line.at.empty()) line.at = now_text();
            line.previous_sha256 = previous;
            line.sha256 = previous = hash_of(line);
            insert(sql, line);
        }
        return {};
    });
}

Result<std::vector<Access>> AccessTrail::lines(const std::string& account,
                                               const std::string& subject,
                                               std::int64_t limit) const {
    return store_.read([&](soci::session& sql) -> Result<std::vector<Access>> {
        std::vector<Access> found;
        Access line;
        long long sequence = 0;
        const long long most = limit;
        soci::statement query =
            (sql.prepare << columns +
                                std::string("WHERE (account = :account OR :any_account = '') AND "
                                            "(subject = :subject OR :any_subject = '')"
                                            " ORDER BY sequence DESC LIMIT :most"),
             use(account), use(account), use(subject), use(subject), use(most), into(sequence),
             into(line.at), into(line.account), into(line.what), into(line.subject),
             into(line.previous_sha256), into(line.sha256));
        query.execute();
        while (query.fetch()) {
            line.sequence = sequence;
            found.push_back(line);
        }
        return found;
    });
}

Result<std::int64_t> AccessTrail::first_broken() const {
    return store_.read([&](soci::session& sql) -> Result<std::int64_t> {
        Access line;
        long long sequence = 0, expected = 0;
        std::string previous = start_of_chain();
        soci::statement query = (sql.prepare << columns + std::string("ORDER BY sequence"),
                                 into(sequence), into(line.at), into(line.account), into(line.what),
                                 into(line.subject), into(line.previous_sha256), into(line.sha256));
        query.execute();
        while (query.fetch()) {
            line.sequence = sequence;
            if (sequence != ++expected || line.previous_sha256 != previous ||
                line.sha256 != hash_of(line)) {
                return expected;
            }
            previous = line.sha256;
        }
        return 0;
    });
}

}  // namespace anfract::record
