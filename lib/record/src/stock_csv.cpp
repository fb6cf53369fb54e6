#include <csv.h>

#include <algorithm>
#include <charconv>

#include "anfract/record/stock.h"

namespace anfract::record {
namespace {

using Row = std::vector<std::string>;

struct Reading {
    std::vector<Row> rows;
    Row row;
};

/// All rows of a CSV text, as libcsv reads it. Errors: BadInput for a quote that does not end.
Result<std::vector<Row>> rows_of(const std::string& text) {
    csv_parser parser;
    csv_init(&parser, CSV_STRICT | CSV_STRICT_FINI | CSV_APPEND_NULL);
    // Spreadsheets of languages with a decimal comma part columns by semicolons.
    const std::string first = text.substr(0, text.find('\n'));
    if (first.find(';') != std::string::npos && first.find(',') == std::string::npos)
        csv_set_delim(&parser, ';');
    Reading reading;
    const auto field = [](void* bytes, std::size_t size, void* data) {
        static_cast<Reading*>(data)->row.emplace_back(static_cast<const char*>(bytes), size);
    };
    const auto end = [](int, void* data) {
        auto& now = *static_cast<Reading*>(data);
        now.rows.push_back(std::move(now.row));
        now.row.clear();
    };
    const bool read =
        csv_parse(&parser, text.data(), text.size(), field, end, &reading) == text.size() &&
        csv_fini(&parser, field, end, &reading) == 0;
    csv_free(&parser);
    if (!read) {
        return fail(ErrorCode::BadInput, "is not CSV after that line",
                    "line " + std::to_string(reading.rows.size() + 1), "check its quotes");
    }
    return reading.rows;
}

std::string quoted(const std::string& text) {
    // Text that a spreadsheet would take for a formula is made text.
    const bool formula = !text.empty() && std::string("=+-@").find(text[0]) != std::string::npos;
    const std::string safe = (formula ? "'" : "") + text;
    std::string room(2 * safe.size() + 2, '\0');
    room.resize(csv_write(room.data(), room.size(), safe.data(), safe.size()));
    return room;
}

std::string plain(const std::string& text) {
    const bool made_text = text.size() > 1 && text[0] == '\'' &&
                           std::string("=+-@").find(text[1]) != std::string::npos;
    return made_text ? text.substr(1) : text;
}

std::string place_of(std::size_t line, const std::string& column) {
    return "line " + std::to_string(line) + ", column '" + column + "'";
}

Result<std::int64_t> number_of(const std::string& text, std::size_t line,
                               const std::string& column) {
    std::int64_t number = -1;
    const auto end = std::from_chars(text.data(), text.data() + text.size(), number);
    if (text.empty()) return 0;
    if (end.ec != std::errc() || end.ptr != text.data() + text.size() || number < 0 ||
        number > 1'000'000)
        return fail(ErrorCode::BadInput, "'" + text + "' is not a count", place_of(line, column),
                    "write a whole number");
    return number;
}

}  // namespace

std::string CountedLot::place(const std::string& column) const {
    return line > 0 ? place_of(line, column) : "item " + item + ", lot '" + lot + "'";
}

std::string stock_to_csv(const std::vector<StockLevel>& levels) {
    std::string text = "item,lot,expires,pieces,minimum\r\n";
    const auto add = [&](const StockLevel& level, const StockLot& lot) {
        text += quoted(level.item.id) + "," + quoted(lot.lot) + "," + lot.expires + "," +
                std::to_string(lot.pieces) + "," + std::to_string(level.item.minimum) + "\r\n";
    };
    for (const StockLevel& level : levels) {
        for (const StockLot& lot : level.lots) add(level, lot);
        if (level.lots.empty()) add(level, {});
    }
    return text;
}

Result<std::vector<CountedLot>> stock_from_csv(const std::string& text) {
    const bool marked = text.starts_with("\xef\xbb\xbf");  // UTF-8, as some programs say it
    const Result<std::vector<Row>> rows = rows_of(marked ? text.substr(3) : text);
    if (!rows) return tl::unexpected(rows.error());
    if (rows->empty())
        return fail(ErrorCode::BadInput, "is empty", "line 1", "begin with the columns' names");
    const Row& names = rows->front();
    const auto column = [&](const char* name) {
        return static_cast<std::size_t>(std::find(names.begin(), names.end(), name) -
                                        names.begin());
    };
    if (column("item") == names.size() || column("pieces") == names.size())
        return fail(ErrorCode::BadInput, "the columns 'item' and 'pieces' are not both there",
                    "line 1", "name the columns in the first line");
    std::vector<CountedLot> lots;
    for (std::size_t i = 1; i < rows->size(); ++i) {
        const Row& row = (*rows)[i];
        const auto cell = [&](const char* name) {
            const std::size_t at = column(name);
            return at < row.size() ? plain(row[at]) : std::string();
        };
        const auto pieces = number_of(cell("pieces"), i + 1, "pieces"),
                   minimum = number_of(cell("minimum"), i + 1, "minimum");
        if (!pieces) return tl::unexpected(pieces.error());
        if (!minimum) return tl::unexpected(minimum.error());
        if (cell("item").empty())
            return fail(ErrorCode::BadInput, "names no item", place_of(i + 1, "item"),
                        "fill in which item was counted");
        lots.push_back({cell("item"), cell("lot"), cell("expires"), *pieces,
                        cell("minimum").empty() ? std::nullopt : std::optional(*minimum), i + 1});
    }
    return lots;
}

}  // namespace anfract::record
