#include <memory>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/report/document.h"
#include "anfract/server/discharge_values.h"
#include "give_out.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

struct Options {
    RecordOptions record;
    std::string id, letter, page, language = "en", out;
};

Result<void> run(const Options& options) {
    const auto form = letter_form_of(options.out);
    if (!form) return tl::unexpected(form.error());
    const auto record = options.record.open();
    if (!record) return tl::unexpected(record.error());
    if (auto seen = record_look(**record, "discharge", options.id); !seen) return seen;
    const auto values = server::discharge_values(**record, options.id, options.language);
    if (!values) return tl::unexpected(values.error());
    const auto letter = letter_of_case(options.letter, values->at("invented"), **record, options.id,
                                       options.language);
    if (!letter) return tl::unexpected(letter.error());
    const auto radiograph = server::newest_radiograph(**record, options.id);
    if (!radiograph) return tl::unexpected(radiograph.error());
    const auto text = options.page.empty() ? built_in_template("discharge." + options.language)
                                           : read_file(options.page, 1 << 20);
    if (!text) return tl::unexpected(text.error());
    const auto page =
        server::discharge_letter(*values, {*text, options.language, *radiograph}, *letter, *form);
    if (!page) return tl::unexpected(page.error());
    return give_out({options.record, options.id}, "discharge", *letter, *page, options.out);
}

}  // namespace

void add_discharge_command(CLI::App& app, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand(
        "discharge",
        "What was done in a case, and its recalls, as a letter that is kept with the case");
    add_record_options(*command, options->record);
    command->add_option("CASE", options->id, "sixteen hexadecimal digits")->required();
    command->add_option("--letter", options->letter, "anfract.letter file: practice, author, ...");
    command->add_option("--language", options->language, "en or de")
        ->check(CLI::IsMember({"en", "de"}))
        ->capture_default_str();
    command->add_option("--template", options->page,
                        "a Mustache template of your own instead of the built-in one");
    command->add_option("--out", options->out, "file to write, .pdf or .html")->required();
    command->callback(
        [options, &action] { action = [options](Progress&) { return run(*options); }; });
}

}  // namespace anfract::cli
