#include <filesystem>
#include <memory>

#include "anfract/base/file.h"
#include "anfract/plan/plan_file.h"
#include "anfract/server/plan_objects.h"
#include "command.h"

namespace anfract::cli {
namespace {

struct Options {
    std::string plan, letter, out;
    DicomSubject subject;
};

Result<void> run(const Options& options) {
    const auto plan = read_plan(options.plan);
    if (!plan) return tl::unexpected(plan.error());
    std::string letter;
    if (!options.letter.empty()) {
        auto read = read_file(options.letter);
        if (!read) return tl::unexpected(read.error());
        letter = std::move(*read);
    }
    const auto objects = server::plan_objects(*plan, options.subject, letter);
    if (!objects) return tl::unexpected(objects.error());
    std::error_code error;
    std::filesystem::create_directories(options.out, error);
    if (error) {
        return fail(ErrorCode::Io, "the folder cannot be made (" + error.message() + ")",
                    options.out, "choose another");
    }
    for (const DicomObject& object : *objects) {
        const auto path = std::filesystem::path(options.out) / object.name;
        if (auto done = write_file_atomically(path, object.bytes, 0600); !done) return done;
    }
    return {};
}

}  // namespace

void add_dicom_command(CLI::App& app, Action& action) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = app.add_subcommand(
        "dicom",
        "A plan as DICOM objects: figures, canals as a segmentation, pictures, and the letter");
    command->add_option("PLAN", options->plan, "anfract.plan file")->required();
    command->add_option("--letter", options->letter, "PDF of 'anfract report' to put in");
    command->add_option("--family", options->subject.family, "the patient's family name");
    command->add_option("--given", options->subject.given, "the patient's given name");
    command->add_option("--birth-date", options->subject.birth_date, "YYYY-MM-DD");
    command->add_option("--patient-id", options->subject.identifier, "the patient's number");
    command->add_option("--study", options->subject.study.study_uid,
                        "Study Instance UID of the scan, so that they lie beside it");
    command->add_option("--frame", options->subject.study.frame_uid,
                        "Frame of Reference UID of the scan, so that the canals lie in it");
    command->add_option("--issued", options->subject.issued,
                        "when it is made, YYYY-MM-DDThh:mm:ss (default: now)");
    command->add_option("--out", options->out, "folder to write into")->required();
    command->callback(
        [options, &action] { action = [options](Progress&) { return run(*options); }; });
}

}  // namespace anfract::cli
