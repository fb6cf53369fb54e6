#pragma once

#include "anfract/geometry/polyline.h"
#include "anfract/tooth/tooth.h"

namespace anfract {

/// The points of a canal, moved onto local cubics when they scatter: one for each sample.
///
/// Points exact to a few thousandths of a millimetre are taken as they are. Others are smoothed
/// over so wide a window that curvature becomes certain to about 0.02 per mm, at most 2 mm to
/// either side.
Polyline centreline_of(const Canal& canal);
Polyline centreline_through(const std::vector<Vec3>& points);

/// Depth of the place at arc length `arc_mm` of a centreline that was made from the canal.
double depth_at(const Canal& canal, const Polyline& centreline, double arc_mm);

}  // namespace anfract
