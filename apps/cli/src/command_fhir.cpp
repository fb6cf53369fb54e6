#include <memory>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/base/json_text.h"
#include "anfract/exchange/fhir.h"
#include "anfract/plan/plan_file.h"
#include "command.h"
#include "deliver.h"

namespace anfract::cli {
namespace {

struct Options {
    std::string input, letter, out;
    FhirSubject subject;
};

Result<void> plan_back(const nlohmann::json& bundle, const Options& options) {
    const auto plan = plan_of_fhir_bundle(bundle, options.input);
    if (!plan) return tl::unexpected(plan.error());
    return deliver(options.out, plan_to_json(*plan), "anfract.plan");
}

Result<void> run(const Options& options) {
    const auto text = read_file(options.input);
    if (!text) return tl::unexpected(text.error());
    const auto document = parse_json(*text, options.input);
    if (!document) return tl::unexpected(document.error());
    if (document->is_object() && document->value("resourceType", nlohmann::json()) == "Bundle") {
        return plan_back(*document, options);
    }
    const auto plan = read_plan(options.input);
    if (!plan) return tl::unexpected(plan.error());
    std::string letter;
    if (!options.letter.empty()) {
        auto read = read_file(options.letter);
        if (!read) return tl::unexpected(read.error());
        if (read->rfind("%PDF-", 0) != 0) {
            return fail(ErrorCode::BadInput, "is not a PDF", options.letter,
                        "give what 'anfract report' wrote");
        }
        letter = std::move(*read);
    }
    const auto bundle = fhir_bundle(*plan, options.subject, letter);
    if (!bundle) return tl::unexpected(bundle.error());
    return write_file_atomically(options.out, bundle->dump(1) + "\n", 0600);
}

}  // namespace

void add_fhir_command(CLI::App& app, Action& action) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand(
        "fhir", "A plan as an HL7 FHIR R4 bundle, or the plan back out of such a bundle");
    command->add_option("INPUT", options->input, "anfract.plan file, or a bundle made of one")
        ->required();
    command->add_option("--letter", options->letter, "PDF of 'anfract report' to put in");
    command->add_option("--family", options->subject.family, "the patient's family name");
    command->add_option("--given", options->subject.given, "the patient's given name");
    command->add_option("--birth-date", options->subject.birth_date, "YYYY-MM-DD");
    command->add_option("--patient-id", options->subject.identifier, "the patient's number");
    command->add_option("--patient-id-system", options->subject.identifier_system,
                        "URI of who gave that number");
    command->add_option("--issued", options->subject.issued,
                        "when it is made, YYYY-MM-DDThh:mm:ss+hh:mm");
    command->add_option("--out", options->out, "file to write")->required();
    command->callback(
        [options, &action] { action = [options](Progress&) { return run(*options); }; });
}

}  // namespace anfract::cli
