#pragma once

#include <CLI/App.hpp>
#include <filesystem>
#include <memory>
#include <string>

#include "anfract/record/record.h"

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

}  // namespace anfract::cli
