#pragma once

#include <string>
#include <vector>

namespace anfract::record {

/// The statements that bring the schema from one step to the next; step N is element N - 1. A step
/// that was released is never changed. They are understood by SQLite and by PostgreSQL alike: TEXT,
/// BIGINT and DOUBLE PRECISION only, never NULL, ids and numbers given by the program, moments as
/// ISO 8601 text in UTC.
const std::vector<std::vector<std::string>>& schema_steps();

enum class ColumnType { Text, Integer };

struct Column {
    std::string name;
    ColumnType type = ColumnType::Text;
    int key = 0;  ///< position in the primary key, from 1; 0: not part of it
};

/// A table with its columns, for what goes over all of them: backup, restore, move.
struct Table {
    std::string name;
    std::vector<Column> columns;
};

/// The tables of the schema after that step, a table after those it refers to.
std::vector<Table> tables_after(int step);

}  // namespace anfract::record
