#include "record_commands.h"

namespace anfract::cli {

// One line per command, in the order `anfract --help` shows them.
void add_commands(CLI::App& app, Action& action) {
    add_phantom_command(app, action);
    add_survey_command(app, action);
    add_trace_command(app, action);
    add_measure_command(app, action);
    add_rehearse_command(app, action);
    add_plan_command(app, action);
    add_report_command(app, action);
    add_leaflet_command(app, action);
    add_model_command(app, action);
    add_fhir_command(app, action);
    add_dicom_command(app, action);
    add_send_command(app, action);
    add_listen_command(app, action);
    add_serve_command(app, action);
    add_case_command(app, action);
    add_discharge_command(app, action);
    add_archive_command(app, action);
    add_stock_command(app, action);
    add_account_command(app, action);
    add_store_command(app, action);
}

}  // namespace anfract::cli
