#pragma once

#include <string>
#include <vector>

#include "trial.h"

namespace anfract::truth {

/// A share with its count and the 95 % interval of [Wilson1927].
struct Share {
    int hits = 0, count = 0;

    double value() const { return count > 0 ? double(hits) / count : 0.0; }
    double low() const;
    double high() const;
};

/// Of the traced canals whose stated presence lies in a band: how many are real.
struct ReliabilityBand {
    double from = 0, to = 1;  ///< of the stated presence, `to` excluded but for 1
    double mean_stated = 0;
    Share real;
};

/// One threshold on presence.
struct RocPoint {
    double threshold = 0;
    Share sensitivity;  ///< true canals traced with at least that presence
    Share specificity;  ///< roots of one canal in which no second one is stated
};

/// Finding canals of a range of widths. A canal's width is its least one down to 1 mm above the
/// foramen.
struct WidthBand {
    double from_mm = 0, to_mm = 0;
    std::vector<RocPoint> points;  ///< rising threshold
};

/// How often an interval of 1.96 stated standard deviations either way holds the truth.
struct Coverage {
    std::string of;
    Share inside;
    double error_over_sd_rms = 0;
};

/// An error over many canals.
struct Spread {
    std::string of;
    double aim = 0;
    int count = 0;
    double rms = 0, mean = 0, median = 0, p95 = 0;  ///< median and p95 of the absolute value
    Share within_aim;
};

struct Statistics {
    int teeth = 0, failed = 0, canals = 0;
    std::vector<ReliabilityBand> reliability;
    WidthBand all;                  ///< 0.15 mm and more
    std::vector<WidthBand> widths;  ///< narrow bands
    int invented_stated = 0, invented_possible = 0;
    int missed_stated = 0, found_possible = 0;
    std::vector<Coverage> coverage;
    std::vector<Spread> spreads;
    double seconds_mean = 0, cpu_seconds_mean = 0;
};

/// `at` reads a curve of rising thresholds at one of them.
const RocPoint& at_threshold(const WidthBand& band, double threshold);

Statistics statistics_of(const std::vector<Trial>& runs);

}  // namespace anfract::truth
