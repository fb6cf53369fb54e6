#include "scan_cache.h"

#include <algorithm>

namespace anfract::server {
namespace {

std::size_t bytes_of(const SharedScan& scan) {
    return scan->volume.voxels.size() * sizeof(scan->volume.voxels[0]) + 1;
}

}  // namespace

std::optional<std::shared_future<ScanCache::Outcome>> ScanCache::expected(
    const std::string& id, std::promise<Outcome>& promise) {
    const std::lock_guard lock(mutex_);
    if (const auto found = find(id); found != entries_.end()) {
        entries_.splice(entries_.begin(), entries_, found);
        return found->outcome;
    }
    entries_.push_front({id, promise.get_future().share(), 0});
    return std::nullopt;
}

Result<SharedScan> ScanCache::get(const std::string& id, const Loader& load) {
    std::promise<Outcome> promise;
    while (const auto loading = expected(id, promise)) {
        const Outcome theirs = loading->get();
        // Whoever loaded it may not want it any more: that is no reason to go without.
        if (theirs || theirs.error().code != ErrorCode::Cancelled) return theirs;
    }
    Outcome outcome =
        fail(ErrorCode::Io, "there is not enough memory for this scan", id, "close other programs");
    try {
        Result<OpenedScan> loaded = load();
        outcome = loaded ? Outcome(std::make_shared<const OpenedScan>(std::move(*loaded)))
                         : Outcome(tl::unexpected(loaded.error()));
    } catch (const std::bad_alloc&) {
        // said above
    }
    if (!outcome) forget(id);
    promise.set_value(outcome);
    if (outcome) settle(id, bytes_of(*outcome));
    return outcome;
}

void ScanCache::put(const std::string& id, SharedScan scan) {
    const std::size_t bytes = bytes_of(scan);
    std::promise<Outcome> promise;
    promise.set_value(std::move(scan));
    {
        const std::lock_guard lock(mutex_);
        if (find(id) != entries_.end()) return;
        entries_.push_front({id, promise.get_future().share(), 0});
    }
    settle(id, bytes);
}

void ScanCache::forget(const std::string& id) {
    const std::lock_guard lock(mutex_);
    if (const auto found = find(id); found != entries_.end()) entries_.erase(found);
}

std::size_t ScanCache::held_bytes() const {
    const std::lock_guard lock(mutex_);
    std::size_t sum = 0;
    for (const Entry& entry : entries_) sum += entry.bytes;
    return sum;
}

std::list<ScanCache::Entry>::iterator ScanCache::find(const std::string& id) {
    return std::find_if(entries_.begin(), entries_.end(),
                        [&](const Entry& entry) { return entry.id == id; });
}

/// Notes the size of a scan that has arrived and makes room, but never drops that scan itself.
void ScanCache::settle(const std::string& id, std::size_t bytes) {
    const std::lock_guard lock(mutex_);
    const auto arrived = find(id);
    if (arrived == entries_.end()) return;
    arrived->bytes = bytes;
    std::size_t sum = 0;
    for (const Entry& entry : entries_) sum += entry.bytes;
    for (auto at = entries_.end(); at != entries_.begin() && sum > limit_bytes_;) {
        --at;
        if (at == arrived || at->bytes == 0) continue;
        sum -= at->bytes;
        at = entries_.erase(at);
    }
}

}  // namespace anfract::server
