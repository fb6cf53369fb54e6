#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <vector>

#include "anfract/scan/volume.h"

namespace anfract {

/// Puts values of any arithmetic type into the 16-bit form of `volume` (voxels, slope, intercept).
///
/// Whole numbers that span no more than 16 bits are kept exactly, shifted if need be; others are
/// spread over 65535 steps, so that the rounding is at most (high - low) / 131068. Values that are
/// not finite become the lowest; returns how many there were.
template <class T>
std::size_t store_values(const std::vector<T>& values, Volume& volume) {
    double low = std::numeric_limits<double>::infinity();
    double high = -low;
    bool whole = true;
    std::size_t not_finite = 0;
    for (const T v : values) {
        const auto d = static_cast<double>(v);
        if (!std::isfinite(d)) {
            ++not_finite;
            continue;
        }
        low = std::min(low, d);
        high = std::max(high, d);
        whole = whole && d == std::trunc(d);
    }
    if (!(low <= high)) low = high = 0;
    volume.slope = 1;
    volume.intercept = 0;
    if (!whole || high - low > 65535) {
        volume.slope = high > low ? (high - low) / 65534 : 1;
        volume.intercept = low + 32767 * volume.slope;
    } else if (low < -32768 || high > 32767) {
        volume.intercept = low + 32768;
    }
    volume.voxels = Voxels(values.size());
    for (std::size_t n = 0; n < values.size(); ++n) {
        const auto d = static_cast<double>(values[n]);
        const double stored = ((std::isfinite(d) ? d : low) - volume.intercept) / volume.slope;
        volume.voxels[n] =
            static_cast<std::int16_t>(std::lround(std::clamp(stored, -32768.0, 32767.0)));
    }
    return not_finite;
}

}  // namespace anfract
