#include <memory>
#include <nlohmann/json.hpp>

#include "anfract/tooth/measure_deviations.h"
#include "anfract/tooth/measures_json.h"
#include "anfract/tooth/tooth_file.h"
#include "command.h"
#include "deliver.h"

namespace anfract::cli {
namespace {

struct Options {
    std::string tooth;
    std::string out = "-";
    std::string notation = "iso3950";
};

Result<void> run(const Options& options) {
    const Result<Tooth> tooth = read_tooth(options.tooth);
    if (!tooth) return tl::unexpected(tooth.error());
    Result<ToothMeasures> measures = measure(*tooth);
    if (!measures) {
        Error error = measures.error();
        error.where = options.tooth;
        return tl::unexpected(error);
    }
    add_deviations(*tooth, *measures);
    if (options.notation == "universal") {
        measures->code = canal_code(*tooth, ToothNotation::Universal);
    }
    return deliver(options.out, measures_to_json(*tooth, *measures), "anfract.measures");
}

}  // namespace

void add_measure_command(CLI::App& app, Action& action) {
    const auto options = std::make_shared<Options>();
    CLI::App* command =
        app.add_subcommand("measure", "Curves, widths, walls and canal classes of a traced tooth");
    command->add_option("TOOTH", options->tooth, "anfract.tooth file")->required();
    command->add_option("--out", options->out, "anfract.measures file to write (default: stdout)");
    command
        ->add_option("--notation", options->notation,
                     "tooth number in the canal code: iso3950 or universal")
        ->check(CLI::IsMember({"iso3950", "universal"}))
        ->capture_default_str();
    command->callback(
        [options, &action] { action = [options](Progress&) { return run(*options); }; });
}

}  // namespace anfract::cli
