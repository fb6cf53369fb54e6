#pragma once

#include <optional>
#include <string>

#include "anfract/geometry/polyline.h"
#include "anfract/geometry/vec.h"

namespace anfract {

/// Standard deviations of the figures of a view, from those of the centreline.
struct ViewDeviations {
    double schneider_deg = 0, tangent_deg = 0, access_deg = 0, total_curvature_deg = 0;
    std::optional<double> arc_radius_mm, three_point_radius_mm;  ///< where there is a radius
};

/// The curve of a canal as one picture shows it: the classical figures of endodontics.
struct ViewMeasures {
    Vec3 toward_P{0, 0, 0};  ///< the direction looked along; zero for the curve in space

    /// Line along the coronal straight part; from the place where the canal leaves it to the
    /// foramen; the angle between [Schneider1971]. 0 for a straight canal.
    double schneider_deg = 0;
    /// Smallest and largest Schneider angle when "leaves the line" means by 0.5 to 2 times the
    /// usual tolerance: how much of the figure is a matter of definition.
    double schneider_low_deg = 0, schneider_high_deg = 0;
    /// Between the lines along the coronal and the apical straight part [Weine1982]; the same angle
    /// is the arc of [Pruett1997].
    double tangent_deg = 0;
    /// At the orifice, between the coronal line and the chord to the foramen [Gunday2005].
    double access_deg = 0;
    double coronal_straight_mm = 0;  ///< length of the straight part at the orifice
    double apical_straight_mm = 0;   ///< and at the foramen
    double arc_mm = 0;               ///< length of what lies between
    /// Radius of the circle that leaves one line and meets the other, arc / angle [Pruett1997];
    /// absent when the lines differ by less than 2 degrees.
    std::optional<double> arc_radius_mm;
    /// Circle through the beginning, the middle and the end of the arc, as in [Estrela2008]; absent
    /// when the arc is shorter than 0.5 mm or straight.
    std::optional<double> three_point_radius_mm;
    double foramen_offset_mm = 0;      ///< distance of the foramen from the coronal line
    double total_curvature_deg = 0;    ///< integral of curvature over the length
    std::optional<ViewDeviations> sd;  ///< where the file says how sure the centreline is
};

/// Whether the Schneider angle is also taken with a stricter and a laxer eye, which costs as much
/// as the rest; if not, both bounds are the angle itself.
enum class SchneiderRange { Found, LeftOut };

/// The measures of a centreline in space. @pre at least two points, orifice first
ViewMeasures measure_in_space(const Polyline& centreline,
                              SchneiderRange range = SchneiderRange::Found);

/// The measures of its parallel projection along `toward_P`. A projected angle can be smaller or
/// larger than the angle in space. When the whole canal runs along the view, all are 0. @pre unit
/// vector
ViewMeasures measure_in_view(const Polyline& centreline, const Vec3& toward_P,
                             SchneiderRange range = SchneiderRange::Found);

/// Only the Schneider angle of the projection, in degrees. @pre unit vector
double schneider_in_view(const Polyline& centreline, const Vec3& toward_P);

}  // namespace anfract
