#pragma once

#include <CLI/App.hpp>
#include <filesystem>
#include <memory>
#include <string>
#include <utility>

#include "anfract/record/record.h"
#include "command.h"

namespace anfract::cli {

/// Where the record lies, as the user says it.
struct RecordOptions {
    std::filesystem::path data;
    std::string database;
    std::filesystem::path files;

    record::RecordPlace place() const;
    /// Opens a record that is there. Errors: NotFound when there is none, and those of
    /// Record::open.
    Result<std::unique_ptr<record::Record>> open() const;
};

/// Makes the data directory of a record as the server would. Errors: Io.
Result<void> make_folder(const record::RecordPlace& place);

/// Adds --data, --database and --files.
void add_record_options(CLI::App& command, RecordOptions& options);

/// Adds a subcommand with options of its own, those of the record among them as `record`, whose
/// action is `run(options, progress)`.
template <class Options, class Run>
std::pair<CLI::App*, std::shared_ptr<Options>> add_record_subcommand(CLI::App& command,
                                                                     const std::string& name,
                                                                     const std::string& text,
                                                                     Run run, Action& action) {
    auto options = std::make_shared<Options>();
    CLI::App* one = command.add_subcommand(name, text);
    add_record_options(*one, options->record);
    one->callback([options, run, &action] {
        action = [options, run](Progress& progress) -> Result<void> {
            return run(*options, progress);
        };
    });
    return {one, options};
}

/// Writes into the access trail what a command is about to show of a patient; the account is the
/// user of the machine. Errors: those of the store; then it is not to be shown.
Result<void> record_look(const record::Record& record, const std::string& command,
                         const std::string& subject);

/// `run(options, record)` as what add_record_subcommand takes, on the record that is there.
template <class Options>
auto in_record(Result<void> (*run)(const Options&, const record::Record&)) {
    return [run](const Options& options, const Progress&) -> Result<void> {
        const auto record = options.record.open();
        if (!record) return tl::unexpected(record.error());
        return run(options, **record);
    };
}

}  // namespace anfract::cli
