#include "archived_row.h"

#include <nlohmann/json.hpp>
#include <regex>

#include "anfract/base/json_document.h"
#include "anfract/base/json_text.h"
#include "anfract/record/instant.h"
#include "anfract/record/scan_book.h"

namespace anfract::record {
using nlohmann::json;

namespace {

tl::unexpected<Error> damaged(const std::string& what, const std::string& where) {
    return fail(ErrorCode::BadInput, what, where, "ask for the archive again");
}

Result<void> check_scan(const json& row, const std::string& where) {
    const auto content = parse_json(row[3].get_ref<const std::string&>(), where);
    if (!content || !describes_scan(*content))
        return damaged("describes its scan in a way that cannot be read", where);
    return {};
}

Result<void> check_item(const json& row, const std::string& where) {
    const auto device = parse_json(row[2].get_ref<const std::string&>(), where);
    if (!device) return tl::unexpected(device.error());
    const auto tray =
        check_document({{"format", "anfract.tray"}, {"version", 1}, {"devices", {*device}}},
                       "anfract.tray", where + ", device");
    if (!tray) return tl::unexpected(tray.error());
    if (device->at("id") != row[1] || row[3].get<std::int64_t>() < 0)
        return damaged("holds an item of the stock that cannot be", where);
    return {};
}

/// Columns: table, sequence, item, kind, lot, expires, pieces, ...
Result<void> check_movement(const json& row, const std::string& where) {
    // All that an archive has room for stays far from the largest number.
    constexpr std::int64_t most_pieces = 1'000'000'000;
    const std::string &kind = row[3].get_ref<const std::string&>(),
                      &expires = row[5].get_ref<const std::string&>();
    const auto pieces = row[6].get<std::int64_t>();
    const bool known = kind == "received" || kind == "sterilised" || kind == "discarded",
               dated = expires.empty() || parse_instant(expires + "T00:00:00Z").has_value();
    if (!known || !dated || pieces < 1 || pieces > most_pieces)
        return damaged("holds a movement of the stock that cannot be", where);
    return {};
}

/// Columns: table, case, entry, device, visit, used, broken.
Result<void> check_use(const json& row, const std::string& where) {
    for (const std::size_t column : {5u, 6u}) {
        if (row[column] != 0 && row[column] != 1)
            return damaged("counts a use of the stock more than once", where);
    }
    return {};
}

}  // namespace

Result<void> check_archived_row(const json& row, const std::string& where) {
    const std::string& table = row[0].get_ref<const std::string&>();
    if (table == "scans") return check_scan(row, where);
    if (table == "stock_items") return check_item(row, where);
    if (table == "stock_movements") return check_movement(row, where);
    if (table == "stock_uses") return check_use(row, where);
    if (table == "case_records") {
        const auto notes =
            parse_document(row[5].get_ref<const std::string&>(), "anfract.case", where + ", notes");
        if (!notes) return tl::unexpected(notes.error());
    }
    // It becomes a line of an answer's head when the file is asked for.
    if (table == "case_files" && !std::regex_match(row[7].get_ref<const std::string&>(),
                                                   std::regex("[a-z]+/[a-z0-9.+-]{1,100}")))
        return damaged("names a kind of file that is none", where);
    return {};
}

}  // namespace anfract::record
