#include "anfract/base/parallel.h"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace anfract {

unsigned default_threads() { return std::max(1u, std::thread::hardware_concurrency()); }

void parallel_for(std::size_t count, unsigned threads,
                  const std::function<void(std::size_t, std::size_t)>& body) {
    if (count == 0) return;
    if (threads == 0) threads = default_threads();
    threads = static_cast<unsigned>(std::min<std::size_t>(threads, count));
    if (threads == 1) {
        body(0, count);
        return;
    }
    // A few ranges per thread, handed out as threads come free, evens out unequal work.
    const std::size_t ranges = std::min<std::size_t>(count, std::size_t{threads} * 8);
    std::atomic<std::size_t> next{0};
    std::exception_ptr first_failure;
    std::mutex failure_mutex;
    const auto work = [&] {
        for (std::size_t r = next++; r < ranges; r = next++) {
            try {
                body(count * r / ranges, count * (r + 1) / ranges);
            } catch (...) {
                const std::lock_guard lock(failure_mutex);
                if (!first_failure) first_failure = std::current_exception();
                next = ranges;
            }
        }
    };
    {
        std::vector<std::jthread> pool;
        for (unsigned t = 1; t < threads; ++t) pool.emplace_back(work);
        work();
    }
    if (first_failure) std::rethrow_exception(first_failure);
}

void side_by_side(unsigned threads, const std::vector<std::function<void()>>& tasks) {
    parallel_for(tasks.size(), threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t n = begin; n < end; ++n) tasks[n]();
    });
}

}  // namespace anfract
