#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/tooth/tooth.h"
#include "anfract/tray/device.h"

namespace anfract::test {

/// A canal that runs straight down z for `straight_mm`, then along an arc of `radius_mm` through
/// `angle_deg` in the x-z plane, then straight for `leg_mm`; its diameter falls from `wide_mm` at
/// the orifice to `narrow_mm`.
struct CanalShape {
    double reference_to_orifice_mm = 8;
    double straight_mm = 6;
    double radius_mm = 5;
    double angle_deg = 45;
    double leg_mm = 0;
    double wide_mm = 0.6;
    double narrow_mm = 0.3;
    double step_mm = 0.1;

    double arc_mm() const { return radius_mm * angle_deg * std::numbers::pi / 180; }
    double length_mm() const { return straight_mm + arc_mm() + leg_mm; }

    Vec3 point(double s) const {
        const double angle = angle_deg * std::numbers::pi / 180;
        if (s <= straight_mm) return {0, 0, s};
        const double turned = std::min((s - straight_mm) / radius_mm, angle);
        Vec3 p(radius_mm * (1 - std::cos(turned)), 0, straight_mm + radius_mm * std::sin(turned));
        const double rest = s - straight_mm - arc_mm();
        if (rest > 0) p += rest * Vec3(std::sin(angle), 0, std::cos(angle));
        return p;
    }
};

inline Canal canal_of(const CanalShape& shape) {
    Canal canal;
    canal.name = "C";
    const int steps = static_cast<int>(std::ceil(shape.length_mm() / shape.step_mm));
    for (int i = 0; i <= steps; ++i) {
        const double s = shape.length_mm() * i / steps;
        CanalSample sample;
        sample.depth_mm = shape.reference_to_orifice_mm + s;
        sample.point_P = shape.point(s);
        sample.diameter_mm = shape.wide_mm + (shape.narrow_mm - shape.wide_mm) * i / steps;
        sample.diameter_short_mm = sample.diameter_long_mm = sample.diameter_mm;
        canal.samples.push_back(sample);
    }
    canal.orifice_P = canal.samples.front().point_P;
    canal.foramen_P = canal.samples.back().point_P;
    canal.length_mm = shape.length_mm();
    canal.depth_to_foramen_mm = canal.samples.back().depth_mm;
    return canal;
}

/// A canal with a kink of `angle_deg` just below its orifice that the next 6 mm take back, as a
/// centreline found in a scan may have it; 13 mm long and 0.3 mm wide at the foramen.
inline Canal kinked_canal(double angle_deg, double kink_mm, double wide_mm) {
    constexpr int steps = 130;
    constexpr double step_mm = 0.1, taken_back_over_mm = 6;
    Canal canal;
    canal.name = "K";
    Vec3 p(0, 0, 0);
    for (int i = 0; i <= steps; ++i) {
        const double s = i * step_mm;
        CanalSample sample;
        sample.depth_mm = 8 + s;
        sample.point_P = p;
        sample.diameter_mm = wide_mm + (0.3 - wide_mm) * i / steps;
        canal.samples.push_back(sample);
        const double back = std::clamp((s - kink_mm) / taken_back_over_mm, 0.0, 1.0);
        const double angle =
            s < kink_mm - 1e-9 ? 0 : angle_deg * std::numbers::pi / 180 * (1 - back);
        p += step_mm * Vec3(std::sin(angle), 0, std::cos(angle));
    }
    return canal;
}

/// A canal that no tooth has: it winds with radii of about half a millimetre in all directions
/// while its width comes and goes, so that at many depths no equilibrium of a device is found.
inline Canal tangled_canal() {
    constexpr int steps = 130;
    constexpr double step_mm = 0.1, farthest_rad = 1.4;
    Canal canal;
    canal.name = "T";
    Vec3 p(0, 0, 0);
    double a = 0, b = 0;
    for (int i = 0; i <= steps; ++i) {
        const double s = i * step_mm;
        CanalSample sample;
        sample.depth_mm = 8 + s;
        sample.point_P = p;
        sample.diameter_mm = (0.9 - 0.05 * s) * (1 + 0.3 * std::sin(2.3 * s));
        sample.diameter_short_mm = sample.diameter_mm;
        sample.diameter_long_mm = 1.8 * sample.diameter_mm;
        sample.long_axis_deg = 40;
        canal.samples.push_back(sample);
        a = std::clamp(a + step_mm * 2.5 * std::cos(3.1 * s), -farthest_rad, farthest_rad);
        b = std::clamp(b + step_mm * 2.5 * std::sin(1.9 * s), -farthest_rad, farthest_rad);
        p += step_mm * Vec3(std::sin(a) * std::cos(b), std::sin(b), std::cos(a) * std::cos(b));
    }
    return canal;
}

/// A round rod of one width and a linear material that does not cut.
inline Device rod(double diameter_mm, double modulus_MPa, double length_mm) {
    Device device;
    device.id = "rod";
    device.kind = DeviceKind::AgitationTip;
    device.material = LinearMaterial{modulus_MPa};
    device.tip_mm = diameter_mm;
    device.working_part_mm = length_mm;
    device.length_mm = length_mm;
    return device;
}

}  // namespace anfract::test
