#include "anfract/server/scan_folder.h"

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <tuple>

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

/// The name under which a scan that lay elsewhere, or was received, comes to lie beside its
/// scan.json; a folder is packed.
constexpr const char* moved_folder = "voxels";

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

/// Of a scan that the record knows: nothing when its bytes are there, else its description, written
/// out, and the files elsewhere.
Result<std::vector<BesideFile>> files_of(const record::KeptScan& scan, const fs::path& folder) {
    std::vector<BesideFile> files;
    if (!scan.sha256.empty()) return files;
    const json stored = parse_json(scan.content, scan.id).value_or(json());
    if (!stored.is_object())
        return fail(ErrorCode::BadInput, "what is kept of the scan is damaged", scan.id,
                    "leave it out");
    const fs::path description = folder / "description.json";
    std::error_code error;
    fs::create_directories(folder, error);
    fs::permissions(folder, fs::perms::owner_all, error);
    if (auto written = write_private(description, scan.content); !written)
        return tl::unexpected(written.error());
    files.push_back({"scan/scan.json", description});
    if (auto added = add_files_from_elsewhere(stored, files); !added)
        return tl::unexpected(added.error());
    return files;
}

}  // namespace

Result<std::vector<BesideFile>> scan_files(const fs::path& data, const record::Record& record,
                                           const std::string& scan_id) {
    const fs::path folder = data / "scans" / scan_id;
    if (const auto kept = record.scans().find(scan_id); kept && is_id(scan_id))
        return files_of(*kept, folder);
    if (!is_id(scan_id) || !fs::exists(folder / "scan.json"))
        return fail(ErrorCode::NotFound, "there is no such scan on the shelf", scan_id,
                    "leave it out");
    const Result<json> stored = read_json(folder / "scan.json");
    if (!stored) return tl::unexpected(stored.error());
    std::vector<BesideFile> files;
    for (const fs::path& file : files_below(folder))
        files.push_back({"scan/" + file.lexically_relative(folder).generic_string(), file});
    if (!stored->value("uploaded", false)) {
        if (auto added = add_files_from_elsewhere(*stored, files); !added)
            return tl::unexpected(added.error());
    }
    return files;
}

namespace {

/// A folder of files as one zip beside it.
Result<fs::path> packed(const fs::path& folder, const Progress& progress) {
    const fs::path place = folder.parent_path() / (std::string(moved_folder) + ".zip");
    auto zip = record::ZipWriter::begin(place);
    if (!zip) return tl::unexpected(zip.error());
    for (const fs::path& file : files_below(folder)) {
        const std::string name = file.lexically_relative(folder).generic_string();
        if (auto added = zip->add_file(name, file); !added) return tl::unexpected(added.error());
    }
    if (auto done = zip->finish(progress); !done) return tl::unexpected(done.error());
    return place;
}

json description_of(const OpenedScan& opened, const std::string& id, const std::string& label,
                    const std::string& file) {
    ScanRecord scan;
    scan.id = id;
    scan.label = label;
    scan.series_uid = opened.volume.series_uid;
    scan.invented = opened.volume.invented;
    scan.geometry = opened.volume.geometry;
    std::tie(scan.low_grey, scan.high_grey) = range_worth_showing(opened.volume);
    scan.created = utc_now();
    json stored = to_json(scan);
    stored["path"] = file;
    stored["uploaded"] = true;
    return stored;
}

}  // namespace

Result<void> place_scan_files(const fs::path& data, const std::string& scan_id,
                              const std::vector<BesideFile>& files) {
    const auto list = std::find_if(files.begin(), files.end(),
                                   [](const BesideFile& f) { return f.name == "scan/scan.json"; });
    if (list == files.end()) return {};
    if (!is_id(scan_id))
        return fail(ErrorCode::BadInput, "is not the number of a scan", scan_id, "");
    const fs::path folder = list->path.parent_path(), place = data / "scans" / scan_id;
    std::error_code error;
    if (fs::exists(place, error)) return {};
    Result<json> stored = read_json(list->path);
    if (!stored) return tl::unexpected(stored.error());
    if (!stored->is_object())
        return fail(ErrorCode::BadInput, "does not describe a scan", "scan.json", "");
    if (!stored->value("uploaded", false)) {
        if (fs::is_directory(folder / moved_folder, error)) {
            if (auto zip = packed(folder / moved_folder, {}); !zip)
                return tl::unexpected(zip.error());
            fs::remove_all(folder / moved_folder, error);
        }
        (*stored)["uploaded"] = true;
        for (const auto& entry : fs::directory_iterator(folder, error)) {
            const std::string name = entry.path().filename().string();
            if (name.starts_with(moved_folder)) (*stored)["path"] = name;
        }
        if (auto done = write_private(list->path, stored->dump(1)); !done) return done;
    }
    fs::create_directories(place.parent_path(), error);
    fs::permissions(place.parent_path(), fs::perms::owner_all, error);
    fs::rename(folder, place, error);
    if (!error) return {};
    return fail(ErrorCode::Io, "cannot be put into place (" + error.message() + ")", place.string(),
                "check the disk");
}

Result<std::string> take_in_scan(const fs::path& data, const fs::path& path,
                                 const std::string& label, const Progress& progress) {
    const Result<OpenedScan> opened = open_scan(path, {}, progress);
    if (!opened) return tl::unexpected(opened.error());
    const auto file = fs::is_directory(path) ? packed(path, progress) : Result<fs::path>(path);
    if (!file) return tl::unexpected(file.error());
    const std::string id = new_id();
    const std::string text = description_of(*opened, id, label, file->filename().string())
                                 .dump(1, ' ', false, json::error_handler_t::replace);
    if (auto added = add_entry(data / "scans" / id, {{"scan.json", text}}, *file); !added)
        return tl::unexpected(added.error());
    std::error_code error;
    fs::remove_all(path, error);
    return id;
}

}  // namespace anfract::server
