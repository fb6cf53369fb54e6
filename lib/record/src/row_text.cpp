#include "row_text.h"

#include <soci/soci.h>

#include <algorithm>
#include <deque>

#include "anfract/base/json_text.h"

namespace anfract::record {
using nlohmann::json;

namespace {

std::string order_of(const Table& table, bool postgresql) {
    std::vector<Column> keys;
    for (const Column& column : table.columns) {
        if (column.key > 0) keys.push_back(column);
    }
    std::sort(keys.begin(), keys.end(),
              [](const Column& a, const Column& b) { return a.key < b.key; });
    std::string text;
    for (const Column& key : keys) {
        text += (text.empty() ? " ORDER BY " : ", ") + key.name;
        // SQLite compares bytes; PostgreSQL by the language of the database, unless told.
        if (postgresql && key.type == ColumnType::Text) text += " COLLATE \"C\"";
    }
    return text;
}

std::string names_of(const Table& table, const char* prefix) {
    std::string text;
    for (const Column& column : table.columns)
        text += (text.empty() ? "" : ", ") + std::string(prefix) + column.name;
    return text;
}

/// Room for one row, whatever its columns are.
struct RowRoom {
    std::deque<std::string> texts;  // never moved, since statements hold their addresses
    std::deque<long long> numbers;
};

}  // namespace

Result<void> read_rows(const Store& store, soci::session& sql, int step,
                       const std::function<Result<void>(const std::string&)>& line,
                       const RowCondition& condition_of) {
    for (const Table& table : tables_after(step)) {
        const std::string condition = condition_of ? condition_of(table) : "";
        if (condition_of && condition.empty()) continue;
        RowRoom row;
        soci::statement query(sql);
        for (const Column& column : table.columns) {
            if (column.type == ColumnType::Text) {
                query.exchange(soci::into(row.texts.emplace_back()));
            } else {
                query.exchange(soci::into(row.numbers.emplace_back()));
            }
        }
        query.alloc();
        query.prepare("SELECT " + names_of(table, "") + " FROM " + table.name +
                      (condition.empty() ? "" : " WHERE " + condition) +
                      order_of(table, store.is_postgresql()));
        query.define_and_bind();
        query.execute();
        while (query.fetch()) {
            json values{table.name};
            std::size_t text = 0, number = 0;
            for (const Column& column : table.columns) {
                if (column.type == ColumnType::Text) {
                    values.push_back(row.texts[text++]);
                } else {
                    values.push_back(row.numbers[number++]);
                }
            }
            if (auto done = line(values.dump(-1, ' ', false, json::error_handler_t::replace));
                !done)
                return done;
        }
    }
    return {};
}

Result<void> write_row(soci::session& sql, int step, const std::string& line) {
    const json values = parse_json(line, "rows.jsonl").value_or(json());
    const std::vector<Table> tables = tables_after(step);
    const auto table = std::find_if(tables.begin(), tables.end(), [&](const Table& one) {
        return values.is_array() && values.size() == one.columns.size() + 1 &&
               values[0] == one.name;
    });
    if (table == tables.end())
        return fail(ErrorCode::BadInput, "holds a row that fits no table", "rows.jsonl",
                    "use another backup");
    RowRoom row;
    soci::statement insert(sql);
    for (std::size_t i = 0; i < table->columns.size(); ++i) {
        const json& value = values[i + 1];
        if (table->columns[i].type == ColumnType::Text && value.is_string()) {
            insert.exchange(soci::use(row.texts.emplace_back(value.get<std::string>())));
        } else if (table->columns[i].type == ColumnType::Integer && value.is_number_integer()) {
            insert.exchange(soci::use(row.numbers.emplace_back(value.get<long long>())));
        } else {
            return fail(ErrorCode::BadInput, "holds a value of the wrong kind", "rows.jsonl",
                        "use another backup");
        }
    }
    insert.alloc();
    insert.prepare("INSERT INTO " + table->name + " (" + names_of(*table, "") + ") VALUES (" +
                   names_of(*table, ":") + ")");
    insert.define_and_bind();
    insert.execute(true);
    return {};
}

}  // namespace anfract::record
