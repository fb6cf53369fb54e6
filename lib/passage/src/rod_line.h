#pragma once

#include <algorithm>
#include <vector>

#include "guide.h"

namespace anfract {

/// Evenly spaced nodes with twist-free frames, and where they lie in the canal.
struct RodLine {
    double spacing_mm = 0;
    std::vector<Vec3> point_P, n1_P, n2_P, tangent_P;
    std::vector<Vec2> curvature_per_mm;
    std::vector<double> depth_mm;
    std::vector<GuidePlace> place;  ///< of the centreline at that depth

    void reserve(std::size_t count);
    int node_count() const { return static_cast<int>(point_P.size()); }
};

/// The canal's own line from the orifice to a depth.
RodLine line_of_canal(const Guide& guide, double tip_depth_mm, int count);

/// A line of as many nodes through `points`, evenly spaced from the orifice's plane to the plane
/// across the canal at `tip_depth_mm`; without nodes when fewer than three of the points lie one
/// below the other.
/// @param old  the line from which the points were found, node by node
RodLine line_through(const Guide& guide, const std::vector<Vec3>& points, const RodLine& old,
                     double tip_depth_mm);

/// A line of `count` nodes along a rod found before, at another depth or with other nodes.
/// @param points    the rod, from the orifice, evenly spaced
/// @param depth_mm  of the places of the centreline nearest to them
/// @pre the tip is not much below that of the rod, which is carried on straight
RodLine line_along(const Guide& guide, const std::vector<Vec3>& points,
                   const std::vector<double>& depth_mm, double tip_depth_mm, int count);

/// A number of nodes, `place` of them down an evenly spaced list, its last entry carried on.
template <class Value>
Value between(const std::vector<Value>& values, double place) {
    const double last = static_cast<double>(values.size() - 1);
    const double kept = std::clamp(place, 0.0, last);
    const auto i = std::min(static_cast<std::size_t>(kept), values.size() - 2);
    const double t = kept - static_cast<double>(i);
    return (1 - t) * values[i] + t * values[i + 1];
}

/// Unit tangents of evenly spaced points; at the ends by the circle through three of them.
/// @pre at least three points
std::vector<Vec3> tangents_of(const std::vector<Vec3>& points);

}  // namespace anfract
