#pragma once

#include <cstdint>
#include <functional>
#include <future>
#include <list>
#include <memory>
#include <mutex>
#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/scan/read_scan.h"

namespace anfract::server {

using SharedScan = std::shared_ptr<const OpenedScan>;

/// Scans in memory. Those not looked at for the longest time are forgotten when all together take
/// more than the limit; a scan that is being worked on stays alive with its user. A scan asked for
/// twice at the same time is loaded once.
class ScanCache {
  public:
    using Loader = std::function<Result<OpenedScan>()>;

    explicit ScanCache(std::size_t limit_bytes) : limit_bytes_(limit_bytes) {}

    Result<SharedScan> get(const std::string& id, const Loader& load);
    void put(const std::string& id, SharedScan scan);
    void forget(const std::string& id);
    std::size_t held_bytes() const;

  private:
    using Outcome = Result<SharedScan>;
    struct Entry {
        std::string id;
        std::shared_future<Outcome> outcome;
        std::size_t bytes = 0;  ///< 0 while it loads
    };
    /// What another asker is loading or has loaded; else `promise` is the one to be kept.
    std::optional<std::shared_future<Outcome>> expected(const std::string& id,
                                                        std::promise<Outcome>& promise);
    std::list<Entry>::iterator find(const std::string& id);
    void settle(const std::string& id, std::size_t bytes);

    std::size_t limit_bytes_;
    mutable std::mutex mutex_;
    std::list<Entry> entries_;  ///< latest first
};

}  // namespace anfract::server
