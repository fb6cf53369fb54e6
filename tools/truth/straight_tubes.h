#pragma once

#include <string>
#include <vector>

#include "ideal_observer.h"

namespace anfract::truth {

/// What tracing reads of one straight canal in many scans that differ in their noise.
struct TubeReading {
    TubeScan scan;
    int scans = 0, found = 0;
    double diameter_mean_mm = 0;  ///< mean over the middle `scan.length_mm`
    double diameter_sd_mm = 0;    ///< from scan to scan
    double detection_index = 0;   ///< mean of the area over its standard deviation
    ObserverLimit limit;
};

/// Traces `scans` phantoms of a straight canal of that width, seeds 1, 2 and on.
TubeReading read_straight_canal(double diameter_mm, int scans, unsigned workers);

/// For a few widths, as Markdown.
std::string straight_table(int scans, unsigned workers);

}  // namespace anfract::truth
