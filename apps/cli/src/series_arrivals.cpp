#include "series_arrivals.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <regex>

#include "anfract/scan/read_scan.h"
#include "anfract/server/scan_folder.h"

namespace anfract::cli {
namespace fs = std::filesystem;

namespace {

/// A series that cannot be read stays so long, in case the rest of it comes.
constexpr std::chrono::hours patience{1};

bool is_uid(const std::string& text) {
    return text.size() <= 64 && std::regex_match(text, std::regex(R"([0-9]+(\.[0-9]+)+)"));
}

}  // namespace

SeriesArrivals::SeriesArrivals(const record::Record& record, fs::path data,
                               std::chrono::milliseconds quiet, Say say, int lock)
    : record_(record),
      folder_(data / "incoming"),
      quiet_(quiet),
      say_(std::move(say)),
      lock_(lock) {}

SeriesArrivals::~SeriesArrivals() { ::close(lock_); }

Result<std::unique_ptr<SeriesArrivals>> SeriesArrivals::open(const record::Record& record,
                                                             const fs::path& data,
                                                             std::chrono::milliseconds quiet,
                                                             Say say) {
    std::error_code error;
    const fs::path incoming = data / "incoming";
    if (::mkdir(incoming.c_str(), 0700) != 0 && errno != EEXIST) {
        return fail(ErrorCode::Io, "the folder cannot be made", incoming.string(),
                    "check the rights or give another one with --data");
    }
    const int lock = ::open(incoming.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (lock < 0 || ::flock(lock, LOCK_EX | LOCK_NB) != 0) {
        if (lock >= 0) ::close(lock);
        return fail(ErrorCode::Io, "another program listens for this data directory", data.string(),
                    "end it, or give another directory with --data");
    }
    std::unique_ptr<SeriesArrivals> arrivals(
        new SeriesArrivals(record, data, quiet, std::move(say), lock));
    for (const auto& entry : fs::directory_iterator(incoming, error)) {
        const std::string name = entry.path().filename().string();
        if (is_uid(name)) {
            arrivals->series_[name] = {Clock::now(), "received", false};
        } else {
            fs::remove_all(entry, error);  // of an association that was cut off
        }
    }
    return arrivals;
}

void SeriesArrivals::add(const DicomArrival& arrival) {
    const std::lock_guard lock(mutex_);
    arrivals_.push_back(arrival);
}

void SeriesArrivals::put(const fs::path& file, const std::string& uid, const std::string& label) {
    std::error_code error;
    fs::create_directory(folder_ / uid, error);
    fs::rename(file, folder_ / uid / file.filename(), error);
    series_[uid] = {Clock::now(), label, false};
}

void SeriesArrivals::sort(const DicomArrival& arrival, const Progress& progress) {
    std::vector<fs::path> files;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(arrival.folder, error))
        files.push_back(entry.path());
    const auto label_of = [&](const SeriesInfo& series) {
        return series.description.empty() ? "received from " + arrival.caller : series.description;
    };
    const auto all = list_series(arrival.folder, progress);
    if (all && all->size() == 1 && is_uid(all->front().series_uid)) {
        for (const fs::path& file : files)
            put(file, all->front().series_uid, label_of(all->front()));
    } else {
        for (const fs::path& file : files) {
            const auto one = list_series(file, progress);
            if (one && one->size() == 1 && is_uid(one->front().series_uid)) {
                put(file, one->front().series_uid, label_of(one->front()));
            } else {
                say_("an object from " + arrival.caller + " is no image that can be read");
            }
        }
    }
    fs::remove_all(arrival.folder, error);
}

void SeriesArrivals::work(bool receiving, const Progress& progress) {
    std::vector<DicomArrival> come;
    {
        const std::lock_guard lock(mutex_);
        come.swap(arrivals_);
    }
    for (const DicomArrival& arrival : come) {
        say_(std::to_string(arrival.objects) + " objects from " + arrival.caller);
        sort(arrival, progress);
    }
    if (receiving) return;
    for (auto one = series_.begin(); one != series_.end();) {
        const auto& [uid, series] = *one;
        const auto since = Clock::now() - series.last;
        std::error_code error;
        if (!series.tried && since >= quiet_) {
            const auto taken = server::take_in_scan(record_, folder_ / uid, series.label, progress);
            if (taken) {
                say_("scan " + *taken + ": " + series.label);
                one = series_.erase(one);
                continue;
            }
            if (progress.cancelled()) return;
            say_("series " + uid + " is not taken in: " + taken.error().sentence());
            one->second.tried = true;
        } else if (series.tried && since >= patience) {
            fs::remove_all(folder_ / uid, error);
            say_("series " + uid + " is given up; nothing of it was kept");
            one = series_.erase(one);
            continue;
        }
        ++one;
    }
}

}  // namespace anfract::cli
