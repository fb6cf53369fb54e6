#include <memory>

#include "anfract/plan/plan_file.h"
#include "anfract/report/document.h"
#include "command.h"
#include "give_out.h"

namespace anfract::cli {
namespace {

struct Options {
    std::string plan, letter, language = "en", out;
    KeepOptions keep;
};

Result<void> run(const Options& options) {
    const auto form = letter_form_of(options.out);
    if (!form) return tl::unexpected(form.error());
    const auto plan = read_plan(options.plan);
    if (!plan) return tl::unexpected(plan.error());
    const auto letter =
        letter_to_keep(options.keep, options.letter, plan->invented, "leaflet", options.language);
    if (!letter) return tl::unexpected(letter.error());
    const auto page = leaflet(*plan, *letter, options.language, *form);
    if (!page) return tl::unexpected(page.error());
    return give_out(options.keep, "leaflet", *letter, *page, options.out);
}

}  // namespace

void add_leaflet_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command =
        app.add_subcommand("leaflet", "About the treatment, for the patient, in plain words");
    command->add_option("plan", options->plan, "anfract.plan file")->required();
    command->add_option("--letter", options->letter,
                        "anfract.letter file: practice, picture, patient, date, whom to call");
    command->add_option("--language", options->language, "en or de")->capture_default_str();
    command->add_option("--out", options->out, "file to write, .pdf or .html")->required();
    add_keep_options(*command, options->keep);
    command->callback(
        [options, &action] { action = [options](Progress&) { return run(*options); }; });
}

}  // namespace anfract::cli
