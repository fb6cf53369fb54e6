#pragma once

#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "anfract/record/canonical_json.h"
#include "anfract/record/hash.h"
#include "anfract/record/treatment_log.h"

namespace anfract::record::test {

/// The rows of a case with a chain of hashes that fits its log, as someone would make it who makes
/// the log up. What is not JSON, or no row of a log, stays as it is.
inline std::string with_forged_chain(const std::string& rows, const std::string& case_id) {
    using nlohmann::json;
    std::string forged, previous = chain_start(case_id);
    std::istringstream lines(rows);
    for (std::string line; std::getline(lines, line);) {
        json row = json::parse(line, nullptr, false);
        // Columns: table, case, sequence, entry, sent, received, author, previous, hash.
        const bool logged = row.is_array() && row.size() == 9 && row[0] == "log_entries" &&
                            row[4].is_string() && row[2].is_number_integer() &&
                            row[5].is_string() && row[6].is_string();
        json entry = logged ? json::parse(row[4].get<std::string>(), nullptr, false) : json();
        if (entry.is_object()) {
            entry.update({{"sequence", row[2]},
                          {"received", row[5]},
                          {"author", row[6]},
                          {"previous_sha256", previous}});
            row[7] = previous;
            row[8] = previous = sha256_hex(canonical_json(entry));
            line = row.dump(-1, ' ', false, json::error_handler_t::replace);
        }
        forged += line + "\n";
    }
    return forged;
}

}  // namespace anfract::record::test
