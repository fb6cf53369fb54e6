#pragma once

#include <cmath>
#include <numbers>
#include <string>

#include "anfract/tooth/tooth.h"
#include "anfract/tray/tray_file.h"

namespace anfract::testing {

/// A hand-made canal: straight, then an arc in the x-z plane that ends at the foramen.
inline Canal canal(const std::string& name, double radius_mm, double arc_deg,
                   double foramen_mm = 0.18, double wall_mm = 1.2, double straight_mm = 5) {
    Canal made;
    made.name = name;
    made.presence = 0.99;
    made.depth_sd_mm = 0.12;
    const double length = straight_mm + radius_mm * arc_deg * std::numbers::pi / 180;
    const int count = int(std::ceil(length / 0.2)) + 1;
    for (int i = 0; i < count; ++i) {
        const double s = length * i / (count - 1);
        const double angle = s > straight_mm ? (s - straight_mm) / radius_mm : 0;
        CanalSample sample;
        sample.depth_mm = 8 + s;
        sample.point_P = {radius_mm * (1 - std::cos(angle)), 0,
                          12 - std::min(s, straight_mm) - radius_mm * std::sin(angle)};
        sample.diameter_mm = 0.7 + (foramen_mm - 0.7) * s / length;
        sample.diameter_short_mm = sample.diameter_long_mm = sample.diameter_mm;
        sample.wall_min_mm = wall_mm;
        sample.wall_min_toward = {0, 1, 0};
        sample.curvature_per_mm = s > straight_mm ? 1 / radius_mm : 0;
        made.samples.push_back(sample);
    }
    made.orifice_P = made.samples.front().point_P;
    made.foramen_P = made.samples.back().point_P;
    made.length_mm = length;
    made.depth_to_foramen_mm = 8 + length;
    return made;
}

inline Tooth tooth(std::vector<Canal> canals) {
    Tooth made;
    made.fdi = "36";
    made.invented = true;
    made.reference_P = {0, 0, 20};
    made.canals = std::move(canals);
    return made;
}

/// The generic tray thinned to what a test needs, so that it takes seconds.
inline Tray small_tray() {
    Tray tray;
    for (const Device& device : generic_tray().devices) {
        const bool file =
            device.cuts() && device.length_mm == 25 && device.taper < 0.035 && device.tip_mm < 0.28;
        const bool cone = device.kind == DeviceKind::Cone || device.kind == DeviceKind::PaperPoint;
        if (file || (!device.cuts() && (!cone || device.taper < 0.03)))
            tray.devices.push_back(device);
    }
    return tray;
}

}  // namespace anfract::testing
