#pragma once

#include <Eigen/Geometry>
#include <cmath>
#include <limits>
#include <numbers>

#include "anfract/passage/lumen.h"
#include "anfract/tray/device.h"

namespace anfract::testing {

/// What an invented round canal is made of: a straight part, then an arc that ends at the foramen.
struct CanalShape {
    double orifice_depth_mm = 8;
    double straight_mm = 6;
    double arc_radius_mm = 0;  ///< 0: straight throughout
    double arc_deg = 0;
    double length_mm = 12;  ///< of a straight canal
    double orifice_diameter_mm = 0.8;
    double foramen_diameter_mm = 0.2;
    double wall_mm = 1.5;
    double spacing_mm = 0.1;
    int theta_count = 24;
};

/// The lumen of such a canal in exact geometry; it bends toward +x, so n1 is the outward side of
/// the bend.
inline Lumen lumen(const CanalShape& shape) {
    const double arc = shape.arc_radius_mm * shape.arc_deg * std::numbers::pi / 180;
    const double length = arc > 0 ? shape.straight_mm + arc : shape.length_mm;
    const double straight = arc > 0 ? shape.straight_mm : shape.length_mm;
    const int count = int(std::lround(length / shape.spacing_mm)) + 1;
    Lumen made;
    made.canal = "M";
    made.reference_to_orifice_mm = shape.orifice_depth_mm;
    made.radius_mm.resize(count, shape.theta_count);
    made.wall_mm = Eigen::ArrayXXd::Constant(count, shape.theta_count, shape.wall_mm);
    for (int i = 0; i < count; ++i) {
        const double s = length * i / (count - 1);
        const double angle = s > straight ? (s - straight) / shape.arc_radius_mm : 0.0;
        const double down = std::min(s, straight) + shape.arc_radius_mm * std::sin(angle);
        const double aside = shape.arc_radius_mm * (1 - std::cos(angle));
        made.depth_mm.push_back(shape.orifice_depth_mm + s);
        made.point_P.emplace_back(aside, 0, shape.orifice_depth_mm + down);
        made.tangent_P.emplace_back(std::sin(angle), 0, std::cos(angle));
        made.n1_P.emplace_back(std::cos(angle), 0, -std::sin(angle));
        made.n2_P.push_back(made.tangent_P.back().cross(made.n1_P.back()));
        const double t = s / length;
        made.radius_mm.row(i) =
            ((1 - t) * shape.orifice_diameter_mm + t * shape.foramen_diameter_mm) / 2;
    }
    return made;
}

/// A file with ISO 3630-1 style sizes.
inline Device file(double tip_mm, double taper, double working_part_mm = 16,
                   DeviceKind kind = DeviceKind::RotaryFile) {
    Device device;
    device.id = "file";
    device.kind = kind;
    device.material = NamedMaterial::NitiAustenitic;
    device.tip_mm = tip_mm;
    device.taper = taper;
    device.working_part_mm = working_part_mm;
    device.length_mm = 25;
    return device;
}

}  // namespace anfract::testing
