#include <cstdio>
#include <filesystem>
#include <memory>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/base/json_document.h"
#include "anfract/record/attached_file.h"
#include "anfract/record/follow_up.h"
#include "anfract/record/instant.h"
#include "anfract/record/sent_letter.h"
#include "anfract/server/case_findings.h"
#include "anfract/server/patient_check.h"
#include "anfract/tooth/tooth_file.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

using nlohmann::json;
using record::CaseEntry;

namespace fs = std::filesystem;

struct Options {
    RecordOptions record;
    std::string id, find, until, kind;
    std::int64_t version = 0;  ///< 0: the newest
    std::optional<std::int64_t> based_on;
    fs::path file;
};

std::optional<std::int64_t> version_of(const Options& options) {
    return options.version > 0 ? std::optional(options.version) : std::nullopt;
}

Result<void> list(const Options& options, const record::Record& record) {
    const auto cases = record.cases().list(options.find);
    if (!cases) return tl::unexpected(cases.error());
    for (const CaseEntry& one : *cases)
        std::printf("%s  %s  %2s  %s%s\n", one.id.c_str(), one.created.substr(0, 10).c_str(),
                    one.fdi.c_str(), one.label.c_str(), one.invented ? "  (invented)" : "");
    return {};
}

Result<void> show(const Options& options, const record::Record& record) {
    const auto notes = record.notes().find(options.id, version_of(options));
    if (!notes) return tl::unexpected(notes.error());
    std::printf("%s\n", notes->notes.dump(1).c_str());
    return {};
}

Result<void> versions(const Options& options, const record::Record& record) {
    const auto all = record.notes().versions(options.id);
    if (!all) return tl::unexpected(all.error());
    for (const record::NotesVersion& one : *all)
        std::printf("%lld  %s  %s\n", static_cast<long long>(one.version), one.made.c_str(),
                    one.author.c_str());
    return {};
}

/// Says where the notes tell of another patient than the scan.
Result<void> warn(const Options& options, const record::Record& record, const json& notes) {
    const auto warnings = server::patient_warnings(record, options.id, notes);
    if (!warnings) return tl::unexpected(warnings.error());
    for (const std::string& sentence : *warnings) std::fprintf(stderr, "%s\n", sentence.c_str());
    return {};
}

/// The next version of what is written down, from a file.
Result<void> save(const Options& options, const record::Record& record) {
    auto document = read_document(options.file, "anfract.case");
    if (!document) return tl::unexpected(document.error());
    const auto newest = record.notes().find(options.id);
    if (!newest) return tl::unexpected(newest.error());
    const std::int64_t based_on = options.based_on.value_or(newest->version);
    const auto saved = record.notes().save(options.id, based_on, std::move(*document), "");
    if (!saved) return tl::unexpected(saved.error());
    if (const auto* version = std::get_if<record::NotesVersion>(&*saved)) {
        std::printf("version %lld\n", static_cast<long long>(version->version));
        return warn(options, record, version->notes);
    }
    return fail(ErrorCode::Conflict, "another version has been saved meanwhile", options.id,
                "look at both and save again, based on the newest");
}

/// What follows from the record and the measured tooth: codes, difficulty, consent, recalls.
Result<void> findings(const Options& options, const record::Record& record) {
    const auto entry = record.cases().find(options.id);
    if (!entry) return tl::unexpected(entry.error());
    const auto notes = record.notes().find(options.id);
    if (!notes) return tl::unexpected(notes.error());
    const auto file = record.cases().file(options.id, "tooth");
    if (!file) return tl::unexpected(file.error());
    const auto text = record.vault().get(file->sha256);
    if (!text) return tl::unexpected(text.error());
    const auto canals =
        parse_document(*text, "anfract.tooth", "the tooth of case " + options.id)
            .and_then([](const json& document) { return tooth_from_json(document, "tooth"); })
            .and_then([](const Tooth& tooth) { return server::anatomy_of(tooth); });
    if (!canals) return tl::unexpected(canals.error());
    std::printf("%s\n", server::findings_of(notes->notes, entry->fdi, *canals).dump(1).c_str());
    return warn(options, record, notes->notes);
}

Result<void> files(const Options& options, const record::Record& record) {
    const auto all = record.cases().files(options.id);
    if (!all) return tl::unexpected(all.error());
    for (const record::CaseFile& one : *all)
        std::printf("%-12s %3lld  %s  %10lld bytes  %s\n", one.kind.c_str(),
                    static_cast<long long>(one.version), one.made.c_str(),
                    static_cast<long long>(one.bytes), one.name.c_str());
    return {};
}

/// What was given out, when, by whom and to whom; the bytes are had by get-file.
Result<void> letters(const Options& options, const record::Record& record) {
    const auto all = record.cases().files(options.id);
    if (!all) return tl::unexpected(all.error());
    for (const record::SentLetter& one : record::sent_letters(*all))
        std::printf("%s  %-9s %3lld  to %s%s%s\n", one.made.c_str(), one.kind.c_str(),
                    static_cast<long long>(one.version),
                    one.to.empty() ? "somebody not named" : one.to.c_str(),
                    one.author.empty() ? "" : "  by ", one.author.c_str());
    return {};
}

Result<void> get_file(const Options& options, const record::Record& record) {
    const auto file = record.cases().file(options.id, options.kind, version_of(options));
    if (!file) return tl::unexpected(file.error());
    const auto bytes = record.vault().get(file->sha256);
    if (!bytes) return tl::unexpected(bytes.error());
    return write_file_atomically(options.file, *bytes, 0600);
}

Result<void> add_file(const Options& options, const record::Record& record) {
    const auto bytes = read_file(options.file, std::size_t{64} << 20);
    if (!bytes) return tl::unexpected(bytes.error());
    auto file = record::attached_file(options.kind, options.file.filename().string(), *bytes);
    if (!file) return tl::unexpected(file.error());
    const auto added = record.cases().add_file(options.id, *file, "");
    if (!added) return tl::unexpected(added.error());
    std::printf("%s version %lld\n", added->kind.c_str(), static_cast<long long>(added->version));
    return {};
}

Result<void> log(const Options& options, const record::Record& record) {
    const auto entries = record.log().entries(options.id);
    if (!entries) return tl::unexpected(entries.error());
    std::printf(
        "%s\n",
        json{{"format", "anfract.log"}, {"version", 1}, {"entries", *entries}}.dump(1).c_str());
    return {};
}

Result<void> bring_back(const Options& options, const record::Record& record) {
    return record.cases().bring_back(options.id);
}

/// The first recall of a case that has not been done, or nothing.
std::string next_recall(const json& notes) {
    const auto due = record::recall_dates(notes.value("completed", ""));
    if (!due) return "";
    const std::size_t done = notes.value("recalls", json::array()).size();
    return done < due->size() ? (*due)[done] : "";
}

Result<void> recalls(const Options& options, const record::Record& record) {
    const std::string until =
        options.until.empty() ? record::now_text().substr(0, 10) : options.until;
    if (!record::parse_instant(until + "T00:00:00Z"))
        return fail(ErrorCode::BadInput, "is no date", until, "write it as 2026-01-31");
    const auto cases = record.cases().list();
    if (!cases) return tl::unexpected(cases.error());
    for (const CaseEntry& one : *cases) {
        const auto notes = record.notes().find(one.id);
        if (!notes) return tl::unexpected(notes.error());
        const std::string due = next_recall(notes->notes);
        if (due.empty() || due > until) continue;
        const json patient = notes->notes.value("patient", json::object());
        std::printf("%s  %s  %2s  %s  %s\n", due.c_str(), one.id.c_str(), one.fdi.c_str(),
                    patient.value("reference", "").c_str(), one.label.c_str());
    }
    return {};
}

}  // namespace

void add_case_command(CLI::App& app, Action& action) {
    CLI::App* command =
        app.add_subcommand("case", "Look into the record of cases, and write into it");
    command->require_subcommand(1);
    const auto add = [&](const char* name, const char* text,
                         Result<void> (*run)(const Options&, const record::Record&)) {
        const auto recorded = [run, what = "case " + std::string(name)](
                                  const Options& options, const Progress&) -> Result<void> {
            const auto record = options.record.open();
            if (!record) return tl::unexpected(record.error());
            const std::string& subject = options.id.empty() ? options.find : options.id;
            return record_look(**record, what, subject).and_then([&] {
                return run(options, **record);
            });
        };
        return add_record_subcommand<Options>(*command, name, text, recorded, action);
    };
    {
        const auto [one, options] = add("list", "All cases, or those found by words", list);
        one->add_option("--find", options->find, "parts of words of label, tooth or patient");
    }
    for (const auto& [name, text, run] :
         {std::tuple("show", "What was written down of a case, newest version", &show),
          std::tuple("log", "The treatment log of a case", &log),
          std::tuple("versions", "Versions of what was written down", &versions),
          std::tuple("findings", "ICD-10 codes, difficulty, consent points and recalls that follow",
                     &findings),
          std::tuple("files", "Teeth, plans, radiographs and papers of a case", &files),
          std::tuple("letters", "Letters of a case that were given out, when and to whom",
                     &letters),
          std::tuple("bring-back", "Put a case that was deleted on the lists again",
                     &bring_back)}) {
        const auto [one, options] = add(name, text, run);
        one->add_option("ID", options->id, "of the case, sixteen hexadecimal digits")->required();
        if (run == &show) one->add_option("--version", options->version, "default: the newest");
    }
    {
        const auto [one, options] = add("save", "Write down the next version, from a file", save);
        one->add_option("ID", options->id, "of the case")->required();
        one->add_option("FILE", options->file, "an anfract.case document")->required();
        one->add_option("--based-on", options->based_on,
                        "version it was made from, 0 for the first; refused if that is not the "
                        "newest any more");
    }
    for (const auto& [name, text, run] :
         {std::tuple("get-file", "Write out a file of a case", &get_file),
          std::tuple("add-file", "Keep a radiograph, picture or paper with a case", &add_file)}) {
        const auto [one, options] = add(name, text, run);
        one->add_option("ID", options->id, "of the case")->required();
        one->add_option("KIND", options->kind, "radiograph, picture, paper; tooth, plan, ...")
            ->required();
        one->add_option("FILE", options->file, "to be written, or to be kept")->required();
        if (run == &get_file) one->add_option("--version", options->version, "default: the newest");
    }
    add_pseudonymise_command(*command, action);
    {
        const auto [one, options] = add("recalls", "Cases whose next recall is due", recalls);
        one->add_option("--until", options->until, "date, such as 2026-01-31 (default: today)");
    }
}

}  // namespace anfract::cli
