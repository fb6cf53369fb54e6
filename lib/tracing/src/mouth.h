#pragma once

#include <Eigen/Core>
#include <optional>

#include "anfract/geometry/polyline.h"
#include "tooth_mask.h"

namespace anfract::tracing {

/// The tooth's surface over the mouth of a canal, where the dark canal and the dark ligament run
/// into each other and leave a dent: in polar form about a point of the canal above its end, the
/// surface round the mouth is fitted with a quadric, which goes on across it.
/// docs/methods/tooth-surface.md, "Mouths of canals".
struct MouthCap {
    Vec3 pole_P, axis_P, u_P, v_P;
    Eigen::Matrix<double, 6, 1> radius;  ///< 1, u, v, u^2, u v, v^2 of the direction from the pole
    double mouth_mm = 0;                 ///< from the axis; the cap fades just beyond

    /// Depth under the cap where it lies over a point, else `plain_mm`.
    double depth_mm(const Vec3& point_P, double plain_mm) const;
};

/// Fits the cap over the end of a line; none where too little surface is seen round it.
///
/// `line` runs toward the mouth and ends near it; `width_mm` is the canal's diameter there.
std::optional<MouthCap> mouth_cap(const Polyline& line, double width_mm, double sigma_psf_mm,
                                  const Brick& depth);

/// Raises the solid to the cap.
void close_mouth(const MouthCap& cap, ToothBody& body);

}  // namespace anfract::tracing
