#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "anfract/plan/plan.h"

namespace anfract {

/// One device along the ruler.
struct RulerBar {
    std::string mark;  ///< number of the step, or what the device is for
    std::string label;
    std::optional<double> size_mm;  ///< tip diameter, for the dot in the standard's colour
    double ends_mm = 0;
    std::vector<std::pair<double, double>> binds_mm;
    std::string end_word;  ///< why it ends there
};

/// One canal along the ruler, everything in millimetres of depth.
struct RulerLane {
    std::string name;
    std::string depth_text;  ///< "20.4 ± 0.1 mm"
    double orifice_mm = 0, foramen_mm = 0;
    double depth_sd_mm = 0;
    double working_mm = 0;
    std::vector<double> depth_mm, width_mm, curvature_per_mm;
    std::vector<std::optional<double>> wall_above_mm, wall_below_mm;
    std::vector<double> shaped_depth_mm, shaped_width_mm;
    std::optional<WatchedWall> left;  ///< of the walls that files thin first, after the order
    std::vector<RulerBar> bars;
};

/// What the ruler shows of a plan: a lane for each canal, in the plan's order.
///
/// Below the canal lies the dentine toward the side where it is thinnest on the whole, above it the
/// dentine opposite. Without a wall sheet only the thinnest wall is known; it is then shown below,
/// and nothing above.
std::vector<RulerLane> ruler_lanes(const Plan& plan);

/// Name of a device for people.
std::string device_name(const Tray& tray, const std::string& id);

}  // namespace anfract
