#include "anfract/server/scan_folder.h"

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>

#include "anfract/base/file.h"
#include "anfract/base/json_text.h"
#include "anfract/record/zip_file.h"
#include "anfract/scan/read_scan.h"
#include "data_directory.h"
#include "scan_shelf.h"

namespace anfract::server {
namespace fs = std::filesystem;
using nlohmann::json;
using record::BesideFile;

namespace {

/// In an archive, what belongs to the scan; the name of the file or folder that lay elsewhere; and
/// where older programs put what they knew of it.
constexpr const char *scan_prefix = "scan/", *moved_folder = "voxels",
                     *description_name = "scan/scan.json";

std::vector<fs::path> files_below(const fs::path& folder) {
    std::vector<fs::path> files;
    std::error_code error;
    for (const auto& entry : fs::recursive_directory_iterator(folder, error)) {
        if (entry.is_regular_file(error) && entry.path().filename().string().front() != '.')
            files.push_back(entry.path());
    }
    std::sort(files.begin(), files.end());
    return files;
}

/// True when the head of a file names the series. It is not parsed: a folder may hold other
/// series, also of other people, and what does not name this one stays out.
bool names_series(const fs::path& file, const std::string& series_uid) {
    constexpr std::size_t head_bytes = std::size_t{1} << 20;
    std::string head(head_bytes, '\0');
    std::ifstream bytes(file, std::ios::binary);
    bytes.read(head.data(), std::streamsize(head.size()));
    head.resize(std::size_t(bytes.gcount()));
    return head.find(series_uid) != std::string::npos;
}

Result<void> add_files_from_elsewhere(const json& stored, std::vector<BesideFile>& files) {
    const fs::path path = stored.value("path", "");
    const std::string uid = stored.value("series_uid", "");
    std::error_code error;
    const std::size_t before = files.size();
    if (fs::is_regular_file(path, error)) {
        files.push_back({std::string("scan/") + moved_folder + path.extension().string(), path});
        // Two endings tell what a packed NIfTI is.
        if (path.filename().string().ends_with(".nii.gz"))
            files.back().name = std::string("scan/") + moved_folder + ".nii.gz";
    } else {
        for (const fs::path& file : files_below(path)) {
            if (!uid.empty() && !names_series(file, uid)) continue;
            files.push_back({std::string("scan/") + moved_folder + "/" +
                                 file.lexically_relative(path).generic_string(),
                             file});
        }
    }
    if (files.size() > before) return {};
    return fail(ErrorCode::NotFound, "the scan is not there any more", path.string(),
                "put it back, or leave it out");
}

/// A folder of files as one zip beside it.
Result<fs::path> packed(const fs::path& folder, const Progress& progress) {
    const fs::path place = folder.string() + ".zip";
    auto zip = record::ZipWriter::begin(place);
    if (!zip) return tl::unexpected(zip.error());
    for (const fs::path& file : files_below(folder)) {
        const std::string name = file.lexically_relative(folder).generic_string();
        if (auto added = zip->add_file(name, file); !added) return tl::unexpected(added.error());
    }
    if (auto done = zip->finish(progress); !done) return tl::unexpected(done.error());
    return place;
}

}  // namespace

Result<json> description_of(const record::KeptScan& scan, const std::string& remedy) {
    json description = parse_json(scan.content, scan.id).value_or(json());
    if (record::describes_scan(description)) return description;
    return fail(ErrorCode::BadInput, "what is kept of the scan is damaged", scan.id, remedy);
}

Result<std::vector<BesideFile>> scan_files(const record::Record& record,
                                           const std::string& scan_id) {
    const auto kept = record.scans().find(scan_id);
    if (!kept) return tl::unexpected(kept.error());
    std::vector<BesideFile> files;
    if (!kept->sha256.empty()) return files;  // comes with the rows that name it
    const auto stored = description_of(*kept, "leave it out");
    if (!stored) return tl::unexpected(stored.error());
    if (auto added = add_files_from_elsewhere(*stored, files); !added)
        return tl::unexpected(added.error());
    return files;
}

namespace {

/// The scan as the record knows it. An older program's archive brings what is known of it along as
/// a file.
Result<record::KeptScan> known_scan(const record::Record& record, const std::string& scan_id,
                                    const std::vector<BesideFile>& files) {
    const auto kept = record.scans().find(scan_id);
    if (kept || kept.error().code != ErrorCode::NotFound) return kept;
    const auto description = std::find_if(files.begin(), files.end(), [](const BesideFile& file) {
        return file.name == description_name;
    });
    if (description == files.end()) return kept;
    const Result<json> stored = read_json(description->path);
    if (!stored) return tl::unexpected(stored.error());
    if (!is_id(scan_id) || !record::describes_scan(*stored))
        return fail(ErrorCode::BadInput, "does not describe a scan", "scan.json",
                    "ask for the archive again");
    record::KeptScan scan{scan_id, stored->value("created", ""), stored->dump(), "", ""};
    if (auto added = record.scans().add(scan); !added) return tl::unexpected(added.error());
    return scan;
}

/// The one file that holds the voxels: what was unpacked is one, or a folder, which is packed.
Result<fs::path> voxels_of(const BesideFile& first, const Progress& progress) {
    const std::string of_folder = std::string(scan_prefix) + moved_folder + "/";
    if (!first.name.starts_with(of_folder)) return first.path;
    fs::path folder = first.path.parent_path();
    for (std::size_t at = of_folder.size(); (at = first.name.find('/', at)) != std::string::npos;
         ++at)
        folder = folder.parent_path();
    return packed(folder, progress);
}

}  // namespace

Result<void> adopt_scan_files(const record::Record& record, const std::string& scan_id,
                              const std::vector<BesideFile>& files, const Progress& progress) {
    const auto first = std::find_if(files.begin(), files.end(), [](const BesideFile& file) {
        return file.name.starts_with(scan_prefix) && file.name != description_name &&
               file.name != "scan/survey.json";
    });
    if (first == files.end()) return {};
    auto kept = known_scan(record, scan_id, files);
    if (!kept) return tl::unexpected(kept.error());
    if (!kept->sha256.empty()) return {};
    auto stored = description_of(*kept, "ask for the archive again");
    if (!stored) return tl::unexpected(stored.error());
    const auto file = voxels_of(*first, progress);
    if (!file) return tl::unexpected(file.error());
    const auto hash = record.vault().take(*file);
    if (!hash) return tl::unexpected(hash.error());
    kept->sha256 = *hash;
    kept->name = file->filename().string();
    (*stored)["path"] = kept->name;
    (*stored)["uploaded"] = true;
    kept->content = stored->dump(-1, ' ', false, json::error_handler_t::replace);
    return record.scans().give_file(*kept);
}

Result<std::string> take_in_scan(const record::Record& record, const fs::path& path,
                                 const std::string& label, const Progress& progress) {
    const Result<OpenedScan> opened = open_scan(path, {}, progress);
    if (!opened) return tl::unexpected(opened.error());
    const auto file = fs::is_directory(path) ? packed(path, progress) : Result<fs::path>(path);
    if (!file) return tl::unexpected(file.error());
    ScanRecord scan;
    describe(scan, *opened);
    scan.id = new_id();
    scan.created = utc_now();
    scan.label = label;
    scan.uploaded = true;
    scan.path = *file;
    const auto hash = record.vault().take(*file);
    if (!hash) return tl::unexpected(hash.error());
    if (auto added = record.scans().add(
            {scan.id, scan.created, content_of(scan), file->filename().string(), *hash});
        !added)
        return tl::unexpected(added.error());
    std::error_code error;
    fs::remove_all(path, error);
    return scan.id;
}

}  // namespace anfract::server
