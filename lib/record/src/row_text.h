#pragma once

#include <functional>
#include <nlohmann/json.hpp>
#include <string>

#include "anfract/record/store.h"
#include "schema_steps.h"

namespace anfract::record {

/// Calls `line` with each row of each table as JSON text, ["table", value, ...], in the order of
/// the tables and of their keys, byte by byte: the same rows give the same lines on either
/// database.
/// @param condition_of  an SQL condition for the rows of a table that are wanted; empty: none of
/// them. Without it every row of every table is read.
using RowCondition = std::function<std::string(const Table&)>;
Result<void> read_rows(const Store& store, soci::session& sql, int step,
                       const std::function<Result<void>(const std::string&)>& line,
                       const RowCondition& condition_of = {});

/// Writes one such line into its table. Errors: BadInput when it does not fit.
Result<void> write_row(soci::session& sql, int step, const std::string& line);

}  // namespace anfract::record
