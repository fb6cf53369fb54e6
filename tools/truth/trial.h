#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "anfract/tracing/trace.h"
#include "compare.h"

namespace anfract::truth {

/// One phantom, traced with one click and compared with its truth.
struct Trial {
    PhantomOptions options;
    std::string fdi;
    ToothError error;
    double seconds = 0;                 ///< of tracing, on the clock
    double cpu_seconds = 0;             ///< of tracing, all threads
    std::vector<std::string> findings;  ///< of the traced tooth
    std::string failure;  ///< the sentence tracing ended with; empty when it gave a tooth
};

/// One click in the phantom's chamber, with its reference point and number.
TraceRequest request_for(const Phantom& phantom);

/// Makes the phantom and traces it, both with `options.threads`.
Trial trace_phantom(const PhantomOptions& options);

/// Runs phantoms side by side, each on one thread, on `workers` threads (0: all). `done` is called
/// after each, from any thread. What has not begun within `minutes` is left out of the answer.
std::vector<Trial> trace_phantoms(std::vector<PhantomOptions> options, unsigned workers,
                                  const std::function<void(const Trial&)>& done,
                                  double minutes = 1e9);

/// `count` phantoms drawn at random from `seed`; the rest of their options is that of `base`.
std::vector<PhantomOptions> draw_phantoms(int count, std::uint64_t seed,
                                          const PhantomOptions& base);

}  // namespace anfract::truth
