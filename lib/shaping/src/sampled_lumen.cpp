#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

#include "anfract/shaping/risk.h"
#include "words.h"

namespace anfract {
namespace {

constexpr double knot_spacing_mm = 2.0;
/// Widths are not taken below this: a canal that was found is open.
constexpr double least_width_mm = 0.03;
/// Where a scan gives no standard deviation; tracing is 4 to 11 % off (docs/performance.md).
constexpr double assumed_width_sd = 0.1;

double interpolated(const std::vector<double>& x, const std::vector<double>& y, double at) {
    const auto above = std::upper_bound(x.begin(), x.end(), at);
    if (above == x.begin()) return y.front();
    if (above == x.end()) return y.back();
    const std::size_t hi = std::size_t(above - x.begin()), lo = hi - 1;
    const double t = (at - x[lo]) / (x[hi] - x[lo]);
    return (1 - t) * y[lo] + t * y[hi];
}

/// Bends the line by `factor` times as much: the turn from station to station keeps its axis in the
/// frame that goes along, so that planes of bends stay as they are.
void bend(Lumen& lumen, double factor) {
    const Lumen was = lumen;
    for (std::size_t i = 1; i < was.depth_mm.size(); ++i) {
        const Vec3 axis_P = was.tangent_P[i - 1].cross(was.tangent_P[i]);
        const double turn = std::atan2(axis_P.norm(), was.tangent_P[i - 1].dot(was.tangent_P[i]));
        const Vec3& n1 = lumen.n1_P[i - 1];
        const Vec3& n2 = lumen.n2_P[i - 1];
        const Vec3 axis = axis_P.dot(was.n1_P[i - 1]) * n1 + axis_P.dot(was.n2_P[i - 1]) * n2;
        const Eigen::Matrix3d rotation =
            axis.norm() > 1e-12
                ? Eigen::AngleAxisd(turn * factor, axis.normalized()).toRotationMatrix()
                : Eigen::Matrix3d::Identity();
        const Vec3 tangent = rotation * lumen.tangent_P[i - 1];
        lumen.n1_P[i] = rotation * n1;
        lumen.n2_P[i] = rotation * n2;
        const double step = (was.point_P[i] - was.point_P[i - 1]).norm();
        lumen.point_P[i] =
            lumen.point_P[i - 1] + step * (lumen.tangent_P[i - 1] + tangent).normalized();
        lumen.tangent_P[i] = tangent;
    }
}

}  // namespace

Uncertainty uncertainty_of(const Canal& canal, const Lumen& lumen, double wall_error_mm) {
    Uncertainty found;
    std::vector<double> depth, sd;
    for (const CanalSample& sample : canal.samples) {
        depth.push_back(sample.depth_mm);
        sd.push_back(sample.diameter_sd_mm);
    }
    found.width_assumed = sd.empty() || *std::max_element(sd.begin(), sd.end()) <= 0;
    const double first = lumen.depth_mm.front(), last = lumen.depth_mm.back();
    const int spans = std::max(1, int(std::lround((last - first) / knot_spacing_mm)));
    for (int k = 0; k <= spans; ++k) {
        const double at = first + (last - first) * k / spans;
        const double width = diameter_mm_at(lumen, at);
        found.width_depth_mm.push_back(at);
        found.width_mm.push_back(width);
        found.width_sd_mm.push_back(found.width_assumed ? assumed_width_sd * width
                                                        : interpolated(depth, sd, at));
    }
    found.wall_sd_mm = wall_error_mm / 2;
    found.depth_sd_mm = canal.depth_sd_mm;
    const double sharpest = sharpest_bend_per_mm(lumen).value;
    if (sharpest > 0) found.least_radius_mm = 1 / sharpest;
    return found;
}

std::vector<RiskInput> risk_inputs(const Uncertainty& uncertainty) {
    std::vector<RiskInput> inputs;
    for (std::size_t k = 0; k < uncertainty.width_depth_mm.size(); ++k) {
        inputs.push_back({"the width at " + mm(uncertainty.width_depth_mm[k], 1),
                          uncertainty.width_depth_mm[k], uncertainty.width_mm[k],
                          uncertainty.width_sd_mm[k], "mm", uncertainty.width_assumed});
    }
    inputs.push_back({"the thickness of the wall", {}, 0, uncertainty.wall_sd_mm, "mm", true});
    inputs.push_back({"the sharpness of the bend",
                      {},
                      uncertainty.least_radius_mm,
                      uncertainty.bend_sd * uncertainty.least_radius_mm,
                      "mm radius",
                      true});
    inputs.push_back({"the stiffness of the alloy", {}, 1, uncertainty.stiffness_sd, "", true});
    inputs.push_back({"the scatter of the alloy's life", {}, 0, 0, "", true});
    inputs.push_back(
        {"the depth of the foramen", {}, 0, uncertainty.depth_sd_mm.value_or(0), "mm", false});
    return inputs;
}

Lumen sampled_lumen(const Lumen& native, const Uncertainty& uncertainty,
                    const std::vector<double>& normal) {
    Lumen lumen = native;
    const std::size_t knots = uncertainty.width_depth_mm.size();
    std::vector<double> change(knots);
    for (std::size_t k = 0; k < knots; ++k) change[k] = normal[k] * uncertainty.width_sd_mm[k];
    const double wall = normal[knots] * uncertainty.wall_sd_mm;
    for (int i = 0; i < lumen.station_count(); ++i) {
        const double depth = lumen.depth_mm[std::size_t(i)];
        const double width = diameter_mm_at(native, depth);
        const double factor =
            std::max(least_width_mm,
                     width + interpolated(uncertainty.width_depth_mm, change, depth)) /
            width;
        lumen.radius_mm.row(i) *= factor;
        // The outside of the root stays where it is; a wall that is not known stays not known.
        lumen.wall_mm.row(i) += wall - (lumen.radius_mm.row(i) - native.radius_mm.row(i));
        for (int j = 0; j < lumen.theta_count(); ++j) {
            if (lumen.wall_mm(i, j) < 0) lumen.wall_mm(i, j) = 0;
        }
    }
    const double bends = std::max(0.0, 1 + uncertainty.bend_sd * normal[knots + 1]);
    if (normal[knots + 1] != 0) bend(lumen, bends);
    return lumen;
}

}  // namespace anfract
