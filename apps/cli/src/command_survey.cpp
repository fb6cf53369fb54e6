#include <unistd.h>

#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>

#include "anfract/scan/read_scan.h"
#include "anfract/scan/survey.h"
#include "command.h"
#include "deliver.h"

namespace anfract::cli {
namespace {

struct SurveyOptions {
    std::string scan;
    std::string series_uid;
    std::string out = "-";
    bool text = false;
};

Result<void> run_survey(const SurveyOptions& options, const Progress& progress) {
    ReadOptions reading;
    reading.series_uid = options.series_uid;
    const Result<OpenedScan> scan = open_scan(options.scan, reading, progress);
    if (!scan) return tl::unexpected(scan.error());
    const Result<Survey> result = survey(scan->volume, progress);
    if (!result) return tl::unexpected(result.error());
    if (auto written = deliver(options.out, survey_document(*scan, *result), "anfract.survey");
        !written) {
        return written;
    }
    if (options.text || isatty(STDERR_FILENO) != 0) {
        std::fputs(survey_text(*scan, *result).c_str(), stderr);
    }
    return {};
}

}  // namespace

void add_survey_command(CLI::App& app, Action& action) {
    const auto options = std::make_shared<SurveyOptions>();
    CLI::App* command = app.add_subcommand("survey", "What a scan is, and what canals it can show");
    command->add_option("scan", options->scan, "DICOM folder, multi-frame file, zip, NIfTI or NRRD")
        ->required();
    command->add_option("--series", options->series_uid,
                        "Series Instance UID, when there are several series");
    command->add_option("--out", options->out,
                        "Write the JSON here instead of the standard output");
    command->add_flag("--text", options->text, "Print a summary to the standard error as well");
    command->callback([options, &action] {
        action = [options](Progress& progress) { return run_survey(*options, progress); };
    });
}

}  // namespace anfract::cli
