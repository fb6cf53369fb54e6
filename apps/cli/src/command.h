#pragma once

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <functional>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"

namespace anfract::cli {

/// What a subcommand does once its options are parsed.
using Action = std::function<Result<void>(Progress&)>;

/// Registers a subcommand: adds its options to the application and sets `action` when it is chosen.
///
/// A command reads its options into a shared_ptr'd struct, and in its callback assigns
/// `action = [options](Progress& progress) -> Result<void> {...}`. The main program runs the
/// action, shows progress on a terminal, turns Ctrl-C into cancellation and an Error into one
/// sentence and exit code 1.
void add_phantom_command(CLI::App& app, Action& action);
void add_survey_command(CLI::App& app, Action& action);
void add_trace_command(CLI::App& app, Action& action);
void add_measure_command(CLI::App& app, Action& action);
void add_rehearse_command(CLI::App& app, Action& action);
void add_plan_command(CLI::App& app, Action& action);
void add_report_command(CLI::App& app, Action& action);
void add_leaflet_command(CLI::App& app, Action& action);
void add_fhir_command(CLI::App& app, Action& action);
void add_dicom_command(CLI::App& app, Action& action);
void add_send_command(CLI::App& app, Action& action);
void add_listen_command(CLI::App& app, Action& action);
void add_model_command(CLI::App& app, Action& action);
void add_serve_command(CLI::App& app, Action& action);

/// Adds every command of this build.
void add_commands(CLI::App& app, Action& action);

}  // namespace anfract::cli
