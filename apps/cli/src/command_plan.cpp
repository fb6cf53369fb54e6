#include <charconv>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>

#include "anfract/plan/make_plan.h"
#include "anfract/plan/plan_file.h"
#include "anfract/tooth/tooth_file.h"
#include "anfract/tray/tray_file.h"
#include "command.h"
#include "deliver.h"

namespace anfract::cli {
namespace {

struct Options {
    std::string tooth, tray, access = "axial", out = "-";
    std::vector<std::string> measured;
    PlanOptions plan;
};

/// Reads CANAL=DEPTH_MM.
Result<void> add_measured(const std::string& text, std::map<std::string, double>& depths) {
    const auto equals = text.rfind('=');
    double depth = 0;
    const char* const end = text.data() + text.size();
    const bool number = equals != std::string::npos && equals > 0 &&
                        std::from_chars(text.data() + equals + 1, end, depth).ptr == end &&
                        equals + 1 < text.size();
    if (!number) {
        return fail(ErrorCode::BadInput, "'" + text + "' is not CANAL=DEPTH_MM", "--measured",
                    "write for example --measured MB=20.5");
    }
    if (!depths.emplace(text.substr(0, equals), depth).second) {
        return fail(ErrorCode::BadInput, "canal '" + text.substr(0, equals) + "' is given twice",
                    "--measured", "give one depth for each canal");
    }
    return {};
}

Result<void> plan_tooth(Options options, Progress& progress) {
    const auto tooth = read_tooth(options.tooth);
    if (!tooth) return tl::unexpected(tooth.error());
    const auto tray = options.tray.empty() ? Result<Tray>(generic_tray()) : read_tray(options.tray);
    if (!tray) return tl::unexpected(tray.error());
    options.plan.access = options.access == "straight" ? Access::Straight : Access::Axial;
    for (const std::string& text : options.measured) {
        auto added = add_measured(text, options.plan.measured_depths_mm);
        if (!added) return added;
    }
    auto plan = make_plan(*tooth, *tray, options.plan, progress);
    if (!plan) {
        Error error = plan.error();
        // The library knows no file names; a canal's name is kept behind the file's.
        error.where = options.tooth + (error.where.empty() ? "" : ": canal " + error.where);
        return tl::unexpected(error);
    }
    return deliver(options.out, plan_to_json(*plan), "anfract.plan");
}

}  // namespace

void add_plan_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command =
        app.add_subcommand("plan", "The canal-by-canal working plan of a traced tooth");
    command->add_option("tooth", options->tooth, "anfract.tooth file")->required();
    command->add_option("--tray", options->tray, "anfract.tray file; without it the generic tray");
    command
        ->add_option("--access", options->access,
                     "axial: the handle in line with the coronal canal; straight: free to lean")
        ->check(CLI::IsMember({"axial", "straight"}))
        ->capture_default_str();
    command->add_option("--friction", options->plan.friction, "Coulomb coefficient")
        ->check(CLI::Range(0.0, 2.0))
        ->capture_default_str();
    command->add_option("--measured", options->measured,
                        "CANAL=DEPTH_MM: the working depth measured at the chair, as with an apex "
                        "locator; the plan works to it; once for each canal");
    command
        ->add_option("--samples", options->plan.samples,
                     "canals drawn to find how likely the order fails; 0: no probabilities")
        ->check(CLI::Range(0, 100000))
        ->capture_default_str();
    command->add_option("--seed", options->plan.seed, "of that drawing")->capture_default_str();
    command->add_option("--out", options->out, "file to write; - is the standard output")
        ->capture_default_str();
    command->callback([options, &action] {
        action = [options](Progress& progress) { return plan_tooth(*options, progress); };
    });
}

}  // namespace anfract::cli
