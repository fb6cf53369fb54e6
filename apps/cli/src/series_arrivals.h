#pragma once

#include <chrono>
#include <filesystem>
#include <functional>
#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/exchange/dicom_receive.h"
#include "anfract/record/record.h"

namespace anfract::cli {

/// Received objects on their way to the shelf of scans: sorted by series, put together when a
/// series comes in several associations, and moved to the shelf when the series has gone quiet and
/// can be read as a scan. A series lands whole or not at all.
class SeriesArrivals {
  public:
    using Clock = std::chrono::steady_clock;
    using Say = std::function<void(const std::string& line)>;

    /// Makes `data`/incoming and takes up what an earlier run left there. Errors: Io, also when
    /// another program listens for this data directory.
    static Result<std::unique_ptr<SeriesArrivals>> open(const record::Record& record,
                                                        const std::filesystem::path& data,
                                                        std::chrono::milliseconds quiet, Say say);
    ~SeriesArrivals();
    SeriesArrivals(const SeriesArrivals&) = delete;
    SeriesArrivals& operator=(const SeriesArrivals&) = delete;

    std::filesystem::path folder() const { return folder_; }

    /// From any thread.
    void add(const DicomArrival& arrival);

    /// Sorts what has come and moves to the shelf what is ready. @param receiving  more may be on
    /// its way: nothing is moved yet
    void work(bool receiving, const Progress& progress);

  private:
    struct Series {
        Clock::time_point last;
        std::string label;
        bool tried = false;  ///< and refused, with the objects that are there
    };
    SeriesArrivals(const record::Record& record, std::filesystem::path data,
                   std::chrono::milliseconds quiet, Say say, int lock);
    void sort(const DicomArrival& arrival, const Progress& progress);
    void put(const std::filesystem::path& file, const std::string& series_uid,
             const std::string& label);

    const record::Record& record_;
    std::filesystem::path folder_;
    std::chrono::milliseconds quiet_;
    Say say_;
    int lock_;
    std::mutex mutex_;
    std::vector<DicomArrival> arrivals_;
    std::map<std::string, Series> series_;  ///< by UID, whose folder is folder_/UID
};

}  // namespace anfract::cli
