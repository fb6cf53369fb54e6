#pragma once

#include <string>

#include "row_text.h"

namespace anfract::record {

/// Which rows of a table go with a case into its archive.
enum class CaseShare {
    Own,     ///< rows that belong to this case alone
    Shared,  ///< rows that others may use too: its scan, the stock its log tells of
    None,    ///< nothing of the table: it is the practice's, not the case's
};
CaseShare case_share_of(const std::string& table);

/// The condition that picks those rows. @pre `case_id` is sixteen hexadecimal digits
std::string case_condition(const Table& table, const std::string& case_id);

/// The rows of a case, a line each; `shared`: those that others may use too come along.
Result<std::string> case_rows(const Store& store, soci::session& sql, int step,
                              const std::string& case_id, bool shared);

/// A row as it may go to another machine: the path of a scan that lies outside the record says
/// where it lay on the sender's, which there is nothing at and may name the patient.
std::string portable_row(const std::string& line);

/// The lines of a text, without their ends.
std::vector<std::string> lines_of(const std::string& text);

/// True for an id as CaseBook gives it. Nothing else may become part of a statement.
bool is_case_id(std::string_view text);

}  // namespace anfract::record
