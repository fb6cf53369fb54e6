#include "scan_shelf.h"

#include <algorithm>
#include <tuple>

#include "anfract/base/json_document.h"
#include "anfract/scan/read_scan.h"
#include "anfract/scan/survey.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

Error no_such_scan(const std::string& id) {
    return {ErrorCode::NotFound, "there is no such scan", id, "ask for the list of scans"};
}

/// Quantiles of the grey values, from at most about a million voxels spread over the scan.
std::pair<double, double> range_worth_showing(const Volume& volume) {
    std::vector<std::int16_t> some;
    const std::size_t stride = std::max<std::size_t>(1, volume.voxels.size() / 1'000'003);
    for (std::size_t i = 0; i < volume.voxels.size(); i += stride) some.push_back(volume.voxels[i]);
    if (some.empty()) return {0, 0};
    const auto quantile = [&](double q) {
        const auto at = some.begin() + static_cast<std::ptrdiff_t>(q * double(some.size() - 1));
        std::nth_element(some.begin(), at, some.end());
        return volume.slope * *at + volume.intercept;
    };
    const double low = quantile(0.001), high = quantile(0.999);
    return {std::min(low, high), std::max(low, high)};
}

json stored_form(const ScanRecord& record) {
    json stored = to_json(record);
    stored["path"] = record.uploaded ? record.path.filename().string() : record.path.string();
    stored["uploaded"] = record.uploaded;
    return stored;
}

/// Throws json::exception when a key is missing or of another type.
ScanRecord record_from(const json& stored, const std::string& id, const fs::path& folder) {
    ScanRecord record;
    record.id = id;
    record.label = stored.at("label");
    record.uploaded = stored.at("uploaded");
    const fs::path path = stored.at("path").get<std::string>();
    record.path = record.uploaded ? folder / path.filename() : path;
    record.series_uid = stored.at("series_uid");
    record.invented = stored.at("invented");
    record.created = stored.at("created");
    record.low_grey = stored.at("grey").at("low");
    record.high_grey = stored.at("grey").at("high");
    const json& grid = stored.at("geometry");
    for (std::size_t a = 0; a < 3; ++a) {
        record.geometry.size[a] = grid.at("size").at(a);
        record.geometry.spacing_mm[int(a)] = grid.at("spacing_mm").at(a);
        record.geometry.origin_P[int(a)] = grid.at("origin_mm").at(a);
        for (std::size_t b = 0; b < 3; ++b) {
            record.geometry.direction(int(a), int(b)) = grid.at("direction").at(3 * a + b);
        }
    }
    return record;
}

}  // namespace

json to_json(const GridGeometry& geometry) {
    json direction = json::array();
    for (int row = 0; row < 3; ++row) {
        for (int column = 0; column < 3; ++column)
            direction.push_back(geometry.direction(row, column));
    }
    return {{"size", geometry.size},
            {"spacing_mm", to_json(geometry.spacing_mm)},
            {"origin_mm", to_json(geometry.origin_P)},
            {"direction", direction}};
}

json to_json(const ScanRecord& record) {
    return {{"id", record.id},
            {"label", record.label},
            {"invented", record.invented},
            {"geometry", to_json(record.geometry)},
            {"series_uid", record.series_uid},
            {"grey", {{"low", record.low_grey}, {"high", record.high_grey}}},
            {"created", record.created}};
}

ScanShelf::ScanShelf(const DataDirectory& directory, std::size_t memory_bytes)
    : directory_(directory), cache_(memory_bytes) {
    for (const std::string& id : ids_below(directory.scans())) {
        const Result<json> stored = read_json(folder(id) / "scan.json");
        if (!stored) continue;
        try {
            records_[id] = record_from(*stored, id, folder(id));
        } catch (const json::exception&) {
            continue;  // damaged: left out of the list, not removed
        }
    }
}

std::vector<ScanRecord> ScanShelf::list() const {
    std::vector<ScanRecord> all;
    {
        const std::lock_guard lock(mutex_);
        for (const auto& [id, record] : records_) all.push_back(record);
    }
    std::stable_sort(all.begin(), all.end(), [](const ScanRecord& a, const ScanRecord& b) {
        return a.created > b.created;
    });
    return all;
}

Result<ScanRecord> ScanShelf::find(const std::string& id) const {
    const std::lock_guard lock(mutex_);
    const auto found = records_.find(id);
    if (found == records_.end()) return tl::unexpected(no_such_scan(id));
    return found->second;
}

Result<ScanRecord> ScanShelf::add(const fs::path& path, const std::string& series_uid,
                                  const Progress& progress) {
    std::error_code error;
    const fs::path absolute = fs::weakly_canonical(path, error);
    ScanRecord record;
    record.path = error ? path : absolute;
    record.label = record.path.filename().string();
    ReadOptions options;
    options.series_uid = series_uid;
    Result<OpenedScan> opened = open_scan(record.path, options, progress);
    return keep(std::move(record), std::move(opened));
}

Result<ScanRecord> ScanShelf::add_upload(const fs::path& file, const std::string& name,
                                         const std::string& series_uid, const Progress& progress) {
    ScanRecord record;
    record.path = file;
    record.label = fs::path(name).filename().string();
    record.uploaded = true;
    ReadOptions options;
    options.series_uid = series_uid;
    Result<OpenedScan> opened = open_scan(file, options, progress);
    if (!opened) opened.error().where = record.label;  // the sender does not know our name for it
    return keep(std::move(record), std::move(opened));
}

Result<ScanRecord> ScanShelf::keep(ScanRecord record, Result<OpenedScan> opened) {
    if (!opened) return tl::unexpected(opened.error());
    const Volume& volume = opened->volume;
    record.series_uid = volume.series_uid;
    record.invented = volume.invented;
    record.geometry = volume.geometry;
    std::tie(record.low_grey, record.high_grey) = range_worth_showing(volume);
    if (!record.uploaded) {
        for (const ScanRecord& known : list()) {
            if (known.path == record.path && known.series_uid == record.series_uid) return known;
        }
    }
    record.id = new_id();
    record.created = utc_now();
    const fs::path source = record.path;
    if (record.uploaded) record.path = folder(record.id) / source.filename();
    const std::string text =
        stored_form(record).dump(1, ' ', false, json::error_handler_t::replace);
    if (auto added = add_entry(folder(record.id), {{"scan.json", text}},
                               record.uploaded ? source : fs::path());
        !added) {
        return tl::unexpected(added.error());
    }
    cache_.put(record.id, std::make_shared<const OpenedScan>(std::move(*opened)));
    const std::lock_guard lock(mutex_);
    records_[record.id] = record;
    return record;
}

Result<SharedScan> ScanShelf::open(const std::string& id, const Progress& progress) {
    const Result<ScanRecord> record = find(id);
    if (!record) return tl::unexpected(record.error());
    return cache_.get(id, [&] {
        ReadOptions options;
        options.series_uid = record->series_uid;
        return open_scan(record->path, options, progress);
    });
}

Result<json> ScanShelf::survey(const std::string& id, const Progress& progress) {
    const Result<ScanRecord> record = find(id);
    if (!record) return tl::unexpected(record.error());
    const std::lock_guard lock(survey_mutex_);
    const fs::path file = folder(id) / "survey.json";
    if (Result<json> stored = read_document(file, "anfract.survey")) return stored;
    const Result<SharedScan> scan = open(id, progress);
    if (!scan) return tl::unexpected(scan.error());
    const Result<Survey> found = anfract::survey((*scan)->volume, progress);
    if (!found) return tl::unexpected(found.error());
    json document = survey_document(**scan, *found);
    // Without room on the disk it is made again next time.
    (void)write_private(file, document.dump(-1, ' ', false, json::error_handler_t::replace));
    return document;
}

Result<void> ScanShelf::remove(const std::string& id) {
    const std::lock_guard lock(mutex_);
    if (records_.erase(id) == 0) return tl::unexpected(no_such_scan(id));
    cache_.forget(id);
    std::error_code error;
    fs::remove_all(folder(id), error);
    if (error)
        return fail(ErrorCode::Io, "cannot be removed (" + error.message() + ")", id,
                    "check the rights");
    return {};
}

}  // namespace anfract::server
