#pragma once

#include <functional>
#include <numbers>
#include <optional>
#include <vector>

#include "anfract/geometry/vec.h"
#include "field.h"

namespace anfract::tracing {

/// Of the direction of a canal that is not seen, over the root of a mm: 7 degrees.
inline constexpr double turn_sd_rad = 7 * std::numbers::pi / 180;

/// A canal whose evidence fades, from a place where it is still seen.
struct FadingCanal {
    Vec3 from_P{0, 0, 0};
    Vec3 direction_P{0, 0, -1};  ///< of its course there, of length 1
    const Brick& z;              ///< evidence
    const Brick& depth;          ///< under the tooth's surface, mm
    /// Whether the evidence at a place is another canal's, and whether that one's line runs there:
    /// its position then, else -1.
    struct Other {
        bool owned = false;
        int on_line = -1;
    };
    std::function<Other(const Vec3& point_P)> other;
};

/// Where such a canal most probably goes.
struct FadingEnd {
    std::vector<Vec3> points;  ///< from `from_P` to just under the surface or to another's line
    double unseen_mm = 0;      ///< of the end, along which nothing speaks for the way
    int joins = -1;            ///< the canal that it runs into
};

/// The most probable way on: docs/methods/tracing.md, "Where evidence fades". Nothing when none
/// ends.
std::optional<FadingEnd> follow_fading(const FadingCanal& canal);

}  // namespace anfract::tracing
