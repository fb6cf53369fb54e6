#pragma once

#include <vector>

#include "anfract/geometry/polyline.h"
#include "anfract/geometry/vec.h"

namespace anfract::tracing {

/// A place on a centreline with its canal frame: n1, n2 normal to the tangent, right-handed n1 x n2
/// = t.
struct Station {
    double s_mm = 0;
    Vec3 point_P{0, 0, 0};
    Vec3 tangent_P{0, 0, 1};
    Vec3 n1_P{1, 0, 0};
    Vec3 n2_P{0, 1, 0};

    Vec3 at(double x_mm, double y_mm) const { return point_P + x_mm * n1_P + y_mm * n2_P; }
};

/// Stations at most `spacing_mm` apart, both ends included, with frames that do not twist about the
/// tangent (double reflection [Wang2008]). Tangents are chords over +-`tangent_reach_mm`.
/// @pre the line has two points or more
std::vector<Station> stations_along(const Polyline& line, double spacing_mm,
                                    double tangent_reach_mm = 0.35);

}  // namespace anfract::tracing
