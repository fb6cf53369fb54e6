#include "case_rows.h"

#include <soci/soci.h>

#include <map>
#include <nlohmann/json.hpp>

#include "anfract/base/json_text.h"

namespace anfract::record {
using nlohmann::json;

namespace {

struct Rule {
    CaseShare share;
    const char* condition;  ///< ? stands for the case's id, quoted
};

const std::map<std::string, Rule, std::less<>>& rules() {
    static const std::map<std::string, Rule, std::less<>> all{
        {"cases", {CaseShare::Own, "id = ?"}},
        {"case_files", {CaseShare::Own, "case_id = ?"}},
        {"case_records", {CaseShare::Own, "case_id = ?"}},
        {"log_entries", {CaseShare::Own, "case_id = ?"}},
        {"stock_uses", {CaseShare::Own, "case_id = ?"}},
        {"scans", {CaseShare::Shared, "id IN (SELECT scan FROM cases WHERE id = ?)"}},
        {"stock_items",
         {CaseShare::Shared, "id IN (SELECT device FROM stock_uses WHERE case_id = ?)"}},
        {"stock_movements",
         {CaseShare::Shared, "item IN (SELECT device FROM stock_uses WHERE case_id = ?)"}},
    };
    return all;
}

}  // namespace

CaseShare case_share_of(const std::string& table) {
    const auto rule = rules().find(table);
    return rule == rules().end() ? CaseShare::None : rule->second.share;
}

std::string case_condition(const Table& table, const std::string& case_id) {
    const auto rule = rules().find(table.name);
    if (rule == rules().end()) return "";
    std::string condition = rule->second.condition;
    condition.replace(condition.find('?'), 1, "'" + case_id + "'");
    return condition;
}

Result<std::string> case_rows(const Store& store, soci::session& sql, int step,
                              const std::string& case_id, bool shared) {
    std::string text;
    const auto read = read_rows(
        store, sql, step,
        [&](const std::string& line) -> Result<void> {
            text += line + "\n";
            return {};
        },
        [&](const Table& table) {
            const bool wanted = shared || case_share_of(table.name) == CaseShare::Own;
            return wanted ? case_condition(table, case_id) : "";
        });
    if (!read) return tl::unexpected(read.error());
    return text;
}

std::string portable_row(const std::string& line) {
    json row = json::parse(line);
    // Columns as in tables_after: id, created, content, name, sha256.
    if (row[0] != "scans" || row[5] != "") return line;
    json content = parse_json(row[3].get<std::string>(), "").value_or(json());
    if (!content.is_object() || !content.contains("path")) return line;
    content["path"] = "";
    row[3] = content.dump(-1, ' ', false, json::error_handler_t::replace);
    return row.dump(-1, ' ', false, json::error_handler_t::replace);
}

std::vector<std::string> lines_of(const std::string& text) {
    std::vector<std::string> lines;
    for (std::size_t begin = 0; begin < text.size();) {
        const std::size_t end = std::min(text.find('\n', begin), text.size());
        lines.push_back(text.substr(begin, end - begin));
        begin = end + 1;
    }
    return lines;
}

bool is_case_id(std::string_view text) {
    return text.size() == 16 &&
           text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

}  // namespace anfract::record
