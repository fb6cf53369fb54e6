#include <cstdio>
#include <filesystem>
#include <memory>

#include "anfract/record/archive.h"
#include "anfract/record/hash.h"
#include "anfract/record/sealed_folder.h"
#include "password.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

namespace fs = std::filesystem;

struct Options {
    RecordOptions record, to;
    fs::path folder, file;
};

void print(const char* what, const record::ArchiveReport& report) {
    std::printf("%s: %lld rows, %lld files, %lld bytes\n", what,
                static_cast<long long>(report.rows), static_cast<long long>(report.files),
                static_cast<long long>(report.bytes));
}

Result<void> check(const Options& options, const Progress& progress) {
    const auto record = options.record.open();
    if (!record) return tl::unexpected(record.error());
    const auto report = record::check(**record, progress);
    if (!report) return tl::unexpected(report.error());
    std::printf(
        "%lld cases, %lld log entries, %lld files with %lld bytes, %lld files that nothing "
        "names\n",
        static_cast<long long>(report->cases), static_cast<long long>(report->entries),
        static_cast<long long>(report->files), static_cast<long long>(report->file_bytes),
        static_cast<long long>(report->unnamed_files));
    for (const std::string& problem : report->problems) std::printf("%s\n", problem.c_str());
    if (report->problems.empty()) return {};
    return fail(ErrorCode::BadInput,
                "the record has " + std::to_string(report->problems.size()) + " problems", "",
                "restore it from a backup; the list is above");
}

Result<void> backup(const Options& options, const Progress& progress) {
    const auto record = options.record.open();
    if (!record) return tl::unexpected(record.error());
    const auto report = record::backup(**record, options.folder, progress);
    if (!report) return tl::unexpected(report.error());
    print("kept", *report);
    return {};
}

Result<void> restore(const Options& options, const Progress& progress) {
    const record::RecordPlace place = options.record.place();
    if (auto made = make_folder(place); !made) return made;
    const auto report = record::restore(options.folder, place, progress);
    if (!report) return tl::unexpected(report.error());
    print("restored and read back equal", *report);
    return {};
}

Result<void> seal(const Options& options, const Progress& progress) {
    const auto passphrase = new_password("passphrase");
    if (!passphrase) return tl::unexpected(passphrase.error());
    const auto report = record::seal_folder(options.folder, options.file, *passphrase, progress);
    if (!report) return tl::unexpected(report.error());
    std::printf("sealed: %lld files, %lld bytes; without the passphrase nobody can open it\n",
                static_cast<long long>(report->files), static_cast<long long>(report->bytes));
    return {};
}

Result<void> unseal(const Options& options, const Progress& progress) {
    const auto report = record::open_sealed_folder(options.file, options.folder,
                                                   hidden_line("passphrase"), progress);
    if (!report) return tl::unexpected(report.error());
    std::printf("opened: %lld files, %lld bytes\n", static_cast<long long>(report->files),
                static_cast<long long>(report->bytes));
    return {};
}

/// By way of a backup, so that a move is verified as a restore is. The old record stays.
Result<void> move(const Options& options, const Progress& progress) {
    const auto record = options.record.open();
    if (!record) return tl::unexpected(record.error());
    const record::RecordPlace to = options.to.place();
    if (auto made = make_folder(to); !made) return made;
    const fs::path way = to.files.string() + ".moving-" + record::random_hex(4);
    auto report = record::backup(**record, way, progress);
    if (report) report = record::restore(way, to, progress);
    std::error_code error;
    fs::remove_all(way, error);
    if (!report) return tl::unexpected(report.error());
    print("moved and read back equal; the old record is still there", *report);
    return {};
}

}  // namespace

void add_store_command(CLI::App& app, Action& action) {
    CLI::App* command =
        app.add_subcommand("store", "Check, back up, restore, move or seal the record of cases");
    command->require_subcommand(1);
    const auto add = [&](const char* name, const char* text,
                         Result<void> (*run)(const Options&, const Progress&)) {
        return add_record_subcommand<Options>(*command, name, text, run, action);
    };
    add("check", "Go through the database, every file and every log; changes nothing", check);
    {
        const auto [one, options] =
            add("backup", "Copy the record, also while it is in use, into a new folder", backup);
        one->add_option("FOLDER", options->folder, "to be made")->required();
    }
    {
        const auto [one, options] =
            add("restore", "Make the record from a backup, where there is none or an empty one",
                restore);
        one->add_option("FOLDER", options->folder, "that 'anfract store backup' made")->required();
    }
    for (const auto& [name, text, run] :
         {std::tuple("seal", "Put a backup into one file that only a passphrase opens", &seal),
          std::tuple("unseal", "The opposite: a sealed backup into a new folder", &unseal)}) {
        auto options = std::make_shared<Options>();
        CLI::App* one = command->add_subcommand(name, text);
        const bool seals = run == &seal;
        one->add_option(seals ? "FOLDER" : "FILE", seals ? options->folder : options->file,
                        "to be read")
            ->required();
        one->add_option(seals ? "FILE" : "FOLDER", seals ? options->file : options->folder,
                        "to be made")
            ->required();
        one->callback([options, act = run, &action] {
            action = [options, act](Progress& progress) { return act(*options, progress); };
        });
    }
    {
        const auto [one, options] =
            add("move", "Copy the record to another database and read it back", move);
        one->add_option("--to-data", options->to.data, "data directory of the new record")
            ->required();
        one->add_option("--to-database", options->to.database,
                        "sqlite:PATH or postgresql://... (default: record.sqlite in --to-data)");
        one->add_option("--to-files", options->to.files,
                        "folder of the new record's files (default: files in --to-data)");
    }
}

}  // namespace anfract::cli
