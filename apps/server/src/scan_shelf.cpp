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

}  // namespace

void describe(ScanRecord& record, const OpenedScan& scan) {
    const Volume& volume = scan.volume;
    record.study = scan.study;
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
        // What is damaged is left out of the list, not removed.
        if (auto one = scan_record_of(scan, folder(scan.id))) all.push_back(std::move(*one));
    }
    return all;
}

Result<ScanRecord> ScanShelf::find(const std::string& id) const {
    const auto kept = record_.scans().find(id);
    if (!kept) return tl::unexpected(kept.error());
    return scan_record_of(*kept, folder(id));
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
    // The sender does not know our name for it.
    if (!opened) opened.error().where = record.label;
    return keep(std::move(record), std::move(opened));
}

Result<ScanRecord> ScanShelf::keep(ScanRecord record, Result<OpenedScan> opened) {
    if (!opened) return tl::unexpected(opened.error());
    describe(record, *opened);
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
        if (record->path.empty()) {
            return fail(ErrorCode::NotFound, "the scan did not come along with its case",
                        record->label, "ask for the archive with the scan");
        }
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
