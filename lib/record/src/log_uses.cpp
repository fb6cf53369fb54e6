#include "log_uses.h"

#include <nlohmann/json.hpp>
#include <utility>
#include <vector>

#include "rows.h"

namespace anfract::record {
using nlohmann::json;
using soci::into;
using soci::use;

void count_use(soci::session& sql, const std::string& case_id, const json& entry) {
    const std::string id = entry.at("entry_id");
    const std::string kind = entry.at("kind");
    const std::string device = entry.value("device", ""),
                      visit = entry.at("at").get<std::string>().substr(0, 10);
    if (kind == "correction") {
        const std::string corrected_id = entry.at("corrects");
        // A corrected device, or one taken back: without a device the line counts nothing. The line
        // then goes by the correction's id, so that a correction of the correction finds it.
        if (device.empty()) {
            sql << "UPDATE stock_uses SET entry_id = :id, used = 0, broken = 0"
                   " WHERE case_id = :case AND entry_id = :old",
                use(id), use(case_id), use(corrected_id);
        } else {
            sql << "UPDATE stock_uses SET entry_id = :id, device = :device"
                   " WHERE case_id = :case AND entry_id = :old",
                use(id), use(device), use(case_id), use(corrected_id);
        }
        return;
    }
    const long long broken = kind == "device-broken" || kind == "device-deformed" ? 1 : 0;
    const long long used = broken == 1 || kind == "step-done" ? 1 : 0;
    if (device.empty() || used == 0) return;
    sql << "INSERT INTO stock_uses (case_id, entry_id, device, visit, used, broken)"
           " VALUES (:case, :id, :device, :visit, :used, :broken)",
        use(case_id), use(id), use(device), use(visit), use(used), use(broken);
}

void count_uses_of_old_logs(soci::session& sql) {
    std::vector<std::pair<std::string, std::string>> entries;
    std::string case_id, sent;
    soci::statement query =
        (sql.prepare << "SELECT case_id, sent FROM log_entries ORDER BY case_id, sequence",
         into(case_id), into(sent));
    query.execute();
    while (query.fetch()) entries.emplace_back(case_id, sent);
    for (const auto& [id, text] : entries) count_use(sql, id, kept_json(text));
}

}  // namespace anfract::record
