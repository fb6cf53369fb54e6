#include "record_options.h"

#include <pwd.h>
#include <unistd.h>

#include "anfract/record/look.h"
#include "anfract/server/workspace_server.h"

namespace anfract::cli {

record::RecordPlace RecordOptions::place() const {
    return record::RecordPlace::below(data.empty() ? server::default_data_directory() : data,
                                      database, files);
}

Result<void> make_folder(const record::RecordPlace& place) {
    const std::filesystem::path folder = place.files.parent_path();
    std::error_code error;
    if (std::filesystem::create_directories(folder, error) && !error)
        std::filesystem::permissions(folder, std::filesystem::perms::owner_all, error);
    if (!error) return {};
    return fail(ErrorCode::Io, "cannot be made (" + error.message() + ")", folder.string(),
                "check the rights");
}

Result<std::unique_ptr<record::Record>> RecordOptions::open() const {
    const record::RecordPlace where = place();
    std::error_code error;
    // Asking after a record must not make one.
    if (!std::filesystem::is_directory(where.files, error)) {
        return fail(ErrorCode::NotFound, "there is no record", where.files.parent_path().string(),
                    "give the data directory that 'anfract serve' uses with --data");
    }
    return record::Record::open(where);
}

void add_record_options(CLI::App& command, RecordOptions& options) {
    command.add_option("--data", options.data,
                       "data directory of the record (default: that of 'anfract serve')");
    command.add_option("--database", options.database,
                       "sqlite:PATH or postgresql://... (default: record.sqlite in --data)");
    command.add_option("--files", options.files,
                       "folder of the record's files (default: files in --data)");
}

Result<void> record_look(const record::Record& record, const std::string& command,
                         const std::string& subject) {
    const passwd* const user = ::getpwuid(::getuid());
    const std::string name = user == nullptr ? std::to_string(::getuid()) : user->pw_name;
    return record::record_look(record.access(), name + " (command line)", command, subject);
}

}  // namespace anfract::cli
