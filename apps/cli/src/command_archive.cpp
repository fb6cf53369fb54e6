#include <cstdio>
#include <filesystem>
#include <memory>
#include <optional>

#include "anfract/base/file.h"
#include "anfract/record/case_archive.h"
#include "anfract/server/scan_folder.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

namespace fs = std::filesystem;
using record::BesideFile;

struct Options {
    RecordOptions record;
    std::string id;
    fs::path file;
    bool without_scan = false;
};

fs::path data_of(const Options& options) { return options.record.place().files.parent_path(); }

/// Where a file of the data directory that belongs to a case lies, and its name in an archive.
std::vector<BesideFile> papers_of(const fs::path& data, const std::string& id) {
    return {{"correction.json", data / "corrections" / (id + ".json")},
            {"tray.json", data / "tray.json"}};
}

Result<void> export_one(const Options& options, const Progress& progress) {
    const auto record = options.record.open();
    if (!record) return tl::unexpected(record.error());
    const auto entry = (*record)->cases().find(options.id);
    if (!entry) return tl::unexpected(entry.error());
    if (auto seen = record_look(**record, "archive export", options.id); !seen) return seen;
    const fs::path data = data_of(options);
    std::vector<BesideFile> beside;
    if (!entry->scan.empty() && !options.without_scan) {
        auto scan = server::scan_files(**record, entry->scan);
        if (!scan) {
            Error error = scan.error();
            error.remedy = "put it back, or archive the case with --without-scan";
            return tl::unexpected(error);
        }
        beside = std::move(*scan);
    }
    for (BesideFile& file : papers_of(data, options.id)) {
        std::error_code error;
        if (fs::is_regular_file(file.path, error)) beside.push_back(std::move(file));
    }
    const auto report = record::export_case(**record, options.id, beside, options.file, progress);
    if (!report) return tl::unexpected(report.error());
    std::printf("archived: case %s, %lld rows, %lld files, %lld bytes\n", report->case_id.c_str(),
                static_cast<long long>(report->rows), static_cast<long long>(report->files),
                static_cast<long long>(report->bytes));
    std::fprintf(stderr,
                 "The archive names the patient and is not encrypted; keep it as you keep the "
                 "record.\n");
    return {};
}

/// A paper that is there already is the practice's own and stays.
void place_papers(const fs::path& data, const record::CaseArchive& archive) {
    for (const BesideFile& place : papers_of(data, archive.case_id())) {
        for (const BesideFile& file : archive.beside()) {
            std::error_code error;
            if (file.name != place.name || fs::exists(place.path, error)) continue;
            fs::create_directories(place.path.parent_path(), error);
            fs::rename(file.path, place.path, error);
        }
    }
}

Result<void> import_one(const Options& options, const Progress& progress) {
    const record::RecordPlace place = options.record.place();
    const fs::path data = data_of(options);
    if (auto made = make_folder(place); !made) return made;
    const auto archive = record::CaseArchive::open(options.file, data, progress);
    if (!archive) return tl::unexpected(archive.error());
    const auto record = record::Record::open(place);
    if (!record) return tl::unexpected(record.error());
    const auto report = (*archive)->put_into(**record);
    if (!report) return tl::unexpected(report.error());
    // After the rows: a refused case leaves nothing, and a second import brings a scan that a kill
    // kept away.
    if (auto adopted = server::adopt_scan_files(**record, (*archive)->scan_id(),
                                                (*archive)->beside(), progress);
        !adopted)
        return adopted;
    place_papers(data, **archive);
    std::printf("%s: case %s, %lld rows, %lld files, %lld bytes\n",
                report->was_there ? "there already, equal" : "taken over", report->case_id.c_str(),
                static_cast<long long>(report->rows), static_cast<long long>(report->files),
                static_cast<long long>(report->bytes));
    return {};
}

}  // namespace

void add_archive_command(CLI::App& app, Action& action) {
    CLI::App* command =
        app.add_subcommand("archive", "All of one case in one file, and back into a record");
    command->require_subcommand(1);
    const auto add = [&](const char* name, const char* text,
                         Result<void> (*run)(const Options&, const Progress&)) {
        return add_record_subcommand<Options>(*command, name, text, run, action);
    };
    {
        const auto [one, options] =
            add("export", "Write a case with its scan, versions, log and stock lines", export_one);
        one->add_option("CASE", options->id, "sixteen hexadecimal digits")->required();
        one->add_option("--out", options->file, "zip file to write")->required();
        one->add_flag("--without-scan", options->without_scan, "leave the scan's files out");
    }
    {
        const auto [one, options] =
            add("import", "Take an archived case into the record, checked and whole", import_one);
        one->add_option("FILE", options->file, "that 'anfract archive export' wrote")->required();
    }
}

}  // namespace anfract::cli
