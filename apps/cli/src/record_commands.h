#pragma once

#include "command.h"

namespace anfract::cli {

/// The commands that work on the record of cases; see command.h.
void add_archive_command(CLI::App& app, Action& action);
void add_case_command(CLI::App& app, Action& action);
void add_discharge_command(CLI::App& app, Action& action);
void add_account_command(CLI::App& app, Action& action);
void add_pseudonymise_command(CLI::App& of_cases, Action& action);
void add_stock_command(CLI::App& app, Action& action);
void add_store_command(CLI::App& app, Action& action);

}  // namespace anfract::cli
