#include "scan_shelf.h"

#include <algorithm>
#include <tuple>

#include "anfract/base/json_document.h"
#include "anfract/base/json_text.h"
#include "anfract/scan/read_scan.h"
#include "anfract/scan/survey.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// The 0.1 % and 99.9 % quantiles of the grey values, from at most about a million voxels spread
/// over the scan.
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

/// Throws json::exception when a key is missing or of another type.
ScanRecord record_from(const record::KeptScan& kept, const fs::path& folder) {
    const json stored = parse_json(kept.content, kept.id).value_or(json());
    ScanRecord record;
    record.id = kept.id;
    record.sha256 = kept.sha256;
    record.label = stored.at("label");
    record.uploaded = stored.at("uploaded");
    const fs::path path = stored.at("path").get<std::string>();
    record.path = record.uploaded ? folder / path.filename() : path;
    record.series_uid = stored.at("series_uid");
    record.invented = stored.at("invented");
    record.created = kept.created;
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

std::string content_of(const ScanRecord& record) {
    json stored = to_json(record);
    stored["path"] = record.uploaded ? record.path.filename().string() : record.path.string();
    stored["uploaded"] = record.uploaded;
    return stored.dump(-1, ' ', false, json::error_handler_t::replace);
}

void describe(ScanRecord& record, const Volume& volume) {
    record.series_uid = volume.series_uid;
    record.invented = volume.invented;
    record.geometry = volume.geometry;
    std::tie(record.low_grey, record.high_grey) = range_worth_showing(volume);
}

ScanShelf::ScanShelf(const DataDirectory& directory, const record::Record& record,
                     std::size_t memory_bytes)
    : directory_(directory), record_(record), cache_(memory_bytes) {}

std::vector<ScanRecord> ScanShelf::list() const {
    std::vector<ScanRecord> all;
    const auto kept = record_.scans().list();
    if (!kept) return all;
    for (const record::KeptScan& scan : *kept) {
        try {
            all.push_back(record_from(scan, folder(scan.id)));
        } catch (const json::exception&) {
            continue;  // damaged: left out of the list, not removed
        }
    }
    return all;
}

Result<ScanRecord> ScanShelf::find(const std::string& id) const {
    const auto kept = record_.scans().find(id);
    if (!kept) return tl::unexpected(kept.error());
    try {
        return record_from(*kept, folder(id));
    } catch (const json::exception&) {
        return fail(ErrorCode::BadInput, "what is kept of the scan is damaged", id,
                    "restore the record from a backup");
    }
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
    if (!opened) {
        // The sender does not know our name for it, which libraries put into what they say.
        opened.error().where = record.label;
        std::string& what = opened.error().what;
        for (std::size_t at = 0; (at = what.find(file.string(), at)) != std::string::npos;)
            what.replace(at, file.string().size(), "the file");
    }
    return keep(std::move(record), std::move(opened));
}

Result<ScanRecord> ScanShelf::keep(ScanRecord record, Result<OpenedScan> opened) {
    if (!opened) return tl::unexpected(opened.error());
    describe(record, opened->volume);
    if (!record.uploaded) {
        for (const ScanRecord& known : list()) {
            if (known.path == record.path && known.series_uid == record.series_uid) return known;
        }
    }
    record.id = new_id();
    record.created = utc_now();
    {
        const std::lock_guard lock(mutex_);
        if (record.uploaded) {
            const Result<std::string> hash = record_.vault().take(record.path);
            if (!hash) return tl::unexpected(hash.error());
            record.sha256 = *hash;
            record.path = folder(record.id) / record.path.filename();
        }
        if (auto added = record_.scans().add({record.id, record.created, content_of(record),
                                              record.path.filename().string(), record.sha256});
            !added) {
            return tl::unexpected(added.error());
        }
    }
    cache_.put(record.id, std::make_shared<const OpenedScan>(std::move(*opened)));
    return record;
}

/// The readers tell files by their endings, which those of the vault have not: they are given a
/// link.
Result<void> ScanShelf::link(const ScanRecord& record) const {
    if (!record.uploaded) return {};
    const fs::path target = fs::absolute(record_.vault().path(record.sha256));
    std::error_code error;
    if (fs::read_symlink(record.path, error) == target && !error) return {};
    fs::create_directory(record.path.parent_path(), error);
    fs::permissions(record.path.parent_path(), fs::perms::owner_all, error);
    const fs::path draft = record.path.string() + "." + new_id();
    fs::create_symlink(target, draft, error);
    if (!error) fs::rename(draft, record.path, error);
    if (!error) return {};
    return fail(ErrorCode::Io, "cannot be linked (" + error.message() + ")", record.label,
                "check the disk");
}

Result<SharedScan> ScanShelf::open(const std::string& id, const Progress& progress) {
    const Result<ScanRecord> record = find(id);
    if (!record) return tl::unexpected(record.error());
    return cache_.get(id, [&]() -> Result<OpenedScan> {
        if (auto linked = link(*record); !linked) return tl::unexpected(linked.error());
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
    std::error_code error;
    fs::create_directory(folder(id), error);
    fs::permissions(folder(id), fs::perms::owner_all, error);
    (void)write_private(file, document.dump(-1, ' ', false, json::error_handler_t::replace));
    return document;
}

Result<void> ScanShelf::remove(const std::string& id) {
    const std::lock_guard lock(mutex_);
    const auto kept = record_.scans().find(id);
    if (!kept) return tl::unexpected(kept.error());
    const auto alone = record_.scans().remove(id);
    if (!alone) return tl::unexpected(alone.error());
    if (*alone) record_.vault().discard(kept->sha256);
    cache_.forget(id);
    std::error_code error;
    fs::remove_all(folder(id), error);
    if (error)
        return fail(ErrorCode::Io, "cannot be removed (" + error.message() + ")", id,
                    "check the rights");
    return {};
}

}  // namespace anfract::server
