#include <cstdio>
#include <memory>
#include <nlohmann/json.hpp>

#include "anfract/record/follow_up.h"
#include "anfract/record/instant.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

using nlohmann::json;
using record::CaseEntry;

struct Options {
    RecordOptions record;
    std::string id, find, until;
};

Result<void> list(const Options& options, const record::Record& record) {
    const auto cases = record.cases().list(options.find);
    if (!cases) return tl::unexpected(cases.error());
    for (const CaseEntry& one : *cases)
        std::printf("%s  %s  %2s  %s%s\n", one.id.c_str(), one.created.substr(0, 10).c_str(),
                    one.fdi.c_str(), one.label.c_str(), one.invented ? "  (invented)" : "");
    return {};
}

Result<void> show(const Options& options, const record::Record& record) {
    const auto notes = record.notes().find(options.id);
    if (!notes) return tl::unexpected(notes.error());
    std::printf("%s\n", notes->notes.dump(1).c_str());
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
    CLI::App* command = app.add_subcommand("case", "Look into the record of cases");
    command->require_subcommand(1);
    const auto add = [&](const char* name, const char* text,
                         Result<void> (*run)(const Options&, const record::Record&)) {
        auto options = std::make_shared<Options>();
        CLI::App* one = command->add_subcommand(name, text);
        add_record_options(*one, options->record);
        one->callback([options, run, &action] {
            action = [options, run](Progress&) -> Result<void> {
                const auto record = options->record.open();
                if (!record) return tl::unexpected(record.error());
                return run(*options, **record);
            };
        });
        return std::pair(one, options);
    };
    {
        const auto [one, options] = add("list", "All cases, or those found by words", list);
        one->add_option("--find", options->find, "parts of words of label, tooth or patient");
    }
    for (const auto& [name, text, run] :
         {std::tuple("show", "What was written down of a case, newest version", &show),
          std::tuple("log", "The treatment log of a case", &log),
          std::tuple("bring-back", "Put a case that was deleted on the lists again", &bring_back)}) {
        const auto [one, options] = add(name, text, run);
        one->add_option("ID", options->id, "of the case, sixteen hexadecimal digits")->required();
    }
    {
        const auto [one, options] = add("recalls", "Cases whose next recall is due", recalls);
        one->add_option("--until", options->until, "date, such as 2026-01-31 (default: today)");
    }
}

}  // namespace anfract::cli
