#include "centreline.h"

#include <algorithm>
#include <cmath>

#include "anfract/geometry/curve_derivatives.h"

namespace anfract {

Polyline centreline_of(const Canal& canal) {
    std::vector<Vec3> points;
    points.reserve(canal.samples.size());
    for (const CanalSample& sample : canal.samples) points.push_back(sample.point_P);
    return centreline_through(points);
}

Polyline centreline_through(const std::vector<Vec3>& points) {
    constexpr double negligible_mm = 0.004, wanted_sd_per_mm = 0.02, widest_mm = 2.0;
    const Polyline raw(points);
    CurveFit fit;
    const double scatter = scatter_mm(raw, fit);
    if (scatter < negligible_mm) return raw;
    // A quadratic through n even points over a length 2 w has sd(r'') = scatter sqrt(720 / n) /
    // (2 w)^2, and tricube weights make it half as much again. With n = 2 w / spacing, solved for
    // w.
    const double spacing = raw.length_mm() / static_cast<double>(points.size() - 1);
    const double gain = 1.5 * scatter * std::sqrt(360.0 * spacing) / (4.0 * wanted_sd_per_mm);
    fit.half_window_mm = std::clamp(std::pow(gain, 0.4), fit.half_window_mm, widest_mm);
    const Polyline smooth = smoothed(raw, fit);
    return smooth.points().size() == points.size() ? smooth : raw;
}

double depth_at(const Canal& canal, const Polyline& centreline, double arc_mm) {
    const auto& arc = centreline.arc_mm();
    const auto above = std::lower_bound(arc.begin(), arc.end(), arc_mm);
    if (above == arc.begin()) return canal.samples.front().depth_mm;
    if (above == arc.end()) return canal.samples.back().depth_mm;
    const auto i = static_cast<std::size_t>(above - arc.begin());
    const double t = (arc_mm - arc[i - 1]) / (arc[i] - arc[i - 1]);
    return std::lerp(canal.samples[i - 1].depth_mm, canal.samples[i].depth_mm, t);
}

}  // namespace anfract
