#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "anfract/plan/plan.h"

namespace anfract::series {

struct SeriesOptions {
    int count = 30;
    std::uint64_t seed = 1;  ///< of the draw of teeth
    int samples = 300;       ///< canals drawn for the probabilities
    unsigned threads = 0;
    /// Folder for teeth and plans; a tooth that is there already is not traced again. Empty: none.
    std::filesystem::path keep;
};

/// One canal of a series, for counting.
struct PlannedCanal {
    CanalPlan plan;
    double least_radius_mm = 0;  ///< over 1 mm of the canal; infinity without a bend
    std::string final_size;      ///< "25/.04"; empty without an order to the working depth
};

/// One tooth of a series.
struct PlannedTooth {
    std::uint64_t seed = 0;
    std::string fdi;
    std::string failure;  ///< the sentence tracing or planning ended with; else empty
    std::vector<PlannedCanal> canals;
    double seconds = 0;      ///< of planning, on the clock
    double cpu_seconds = 0;  ///< of planning, all threads
};

/// Draws phantoms, traces each with one click and plans it with the generic tray. `done` is called
/// after each.
std::vector<PlannedTooth> run_series(const SeriesOptions& options,
                                     const std::function<void(int)>& done);

/// Markdown: what was planned, canal by canal, and counted.
std::string markdown_of(const std::vector<PlannedTooth>& teeth);

}  // namespace anfract::series
