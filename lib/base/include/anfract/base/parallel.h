#pragma once

#include <cstddef>
#include <functional>
#include <vector>

namespace anfract {

/// Number of threads used when a caller asks for none in particular: the machine's processors.
unsigned default_threads();

/// Calls `body(begin, end)` on disjoint, contiguous ranges that cover [0, count), on up to
/// `threads` threads (0: default_threads()). Which thread gets which range is not fixed, so the
/// body must not depend on it: results are then the same for any number of threads. Returns when
/// all are done; the first exception thrown by the body is rethrown.
void parallel_for(std::size_t count, unsigned threads,
                  const std::function<void(std::size_t begin, std::size_t end)>& body);

/// Carries out tasks of which none needs what another does, on up to `threads` threads (0:
/// default_threads()), begun in their order. Returns when all are done; the first exception thrown
/// by one is rethrown, and tasks that were not begun then are left out.
void side_by_side(unsigned threads, const std::vector<std::function<void()>>& tasks);

}  // namespace anfract
