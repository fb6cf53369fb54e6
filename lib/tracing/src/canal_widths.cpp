#include "canal_widths.h"

#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "series.h"

namespace anfract::tracing {
namespace {

constexpr double width_bend_mm =
    0.12;                              ///< prior of the second derivative of the diameter, per mm^2
constexpr double end_taper = 0.06;     ///< prior of the diameter's slope beyond the last section: a
                                       ///< canal does not taper off at its foramen
constexpr double contrast_sd = 0.02;   ///< relative, of the area: the levels, and the tail of the
                                       ///< blur that the window cuts off
constexpr double model_sd_mm = 0.009;  ///< of the diameter: what narrow canals of phantoms showed
                                       ///< beyond that (docs/methods/tracing.md, "Fit")

/// Means over a few neighbours, weighted by certainty, of area and moments.
struct Averaged {
    std::vector<double> diameter, sd;
    std::vector<Eigen::Matrix2d> moments;
};

Averaged averaged(const std::vector<SectionMeasure>& measures) {
    const int count = static_cast<int>(measures.size());
    Averaged result;
    for (int n = 0; n < count; ++n) {
        double weights = 0, area = 0, variance = 0, moment_weights = 0;
        Eigen::Matrix2d moment = Eigen::Matrix2d::Zero();
        for (int k = std::max(0, n - 1); k <= std::min(count - 1, n + 1); ++k) {
            const SectionMeasure& m = measures[std::size_t(k)];
            if (!m.valid) continue;
            const double w = k == n ? 1.0 : 0.5;
            weights += w;
            area += w * m.area_mm2;
            variance += w * w * m.area_sd_mm2 * m.area_sd_mm2;
            Eigen::Matrix2d own;
            own << m.moment_xx_mm2, m.moment_xy_mm2, m.moment_xy_mm2, m.moment_yy_mm2;
            moment += w * m.area_mm2 * own;
            moment_weights += w * m.area_mm2;
        }
        if (weights < 0.9) {
            result.diameter.push_back(0);
            result.sd.push_back(std::numeric_limits<double>::infinity());
            result.moments.push_back(Eigen::Matrix2d::Identity());
            continue;
        }
        area = std::max(area / weights, 0.0);
        // Neighbouring slabs overlap by half and their noise hangs together: means of them,
        // here and in the series, gain less than independent ones would.
        const double area_sd = 2.0 * std::sqrt(variance) / weights;
        const double d = std::sqrt(4 * area / std::numbers::pi);
        result.diameter.push_back(d);
        result.sd.push_back(2 * area_sd / (std::numbers::pi * std::max(d, 0.08)));
        result.moments.push_back(moment / std::max(moment_weights, 1e-6));
    }
    return result;
}

/// Position of the measured section nearest to each; its own where none is measured.
std::vector<std::size_t> nearest_measured(const std::vector<double>& sd) {
    const auto count = static_cast<std::ptrdiff_t>(sd.size());
    std::vector<std::size_t> nearest;
    for (std::ptrdiff_t n = 0; n < count; ++n) {
        std::ptrdiff_t found = n;
        for (std::ptrdiff_t away = 0; away < count; ++away) {
            const auto measured = [&](std::ptrdiff_t k) {
                return k >= 0 && k < count && std::isfinite(sd[std::size_t(k)]);
            };
            if (!measured(n - away) && !measured(n + away)) continue;
            found = measured(n - away) ? n - away : n + away;
            break;
        }
        nearest.push_back(std::size_t(found));
    }
    return nearest;
}

/// Ratio and direction of the ellipse. The narrower the canal the less its blurred section tells of
/// its shape: the second moments are pulled toward a round section by what noise they carry.
void set_ellipse(const Eigen::Matrix2d& moments, double width_sd, double sigma_psf_mm,
                 SectionShape& shape) {
    const double round_moment = shape.diameter_mm * shape.diameter_mm / 16;
    if (!std::isfinite(width_sd)) return;
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(moments);
    const double doubt = 0.15 * sigma_psf_mm * sigma_psf_mm + 2 * width_sd * sigma_psf_mm;
    const double small = std::max(axes.eigenvalues()[0], 0.0) + doubt;
    const double large = std::max(axes.eigenvalues()[1], 0.0) + doubt;
    shape.ratio = std::clamp(std::sqrt(large / std::max(small, 0.05 * round_moment)), 1.0, 4.0);
    const Eigen::Vector2d axis = axes.eigenvectors().col(1);
    shape.long_axis_rad = std::atan2(axis.y(), axis.x());
}

}  // namespace

std::vector<SectionShape> smooth_widths(const std::vector<SectionMeasure>& measures,
                                        const std::vector<DrawnWidth>& drawn, double spacing_mm,
                                        const SectionSetting& setting) {
    Averaged means = averaged(measures);
    std::vector<double> sd = means.sd;
    for (double& s : sd) s = std::hypot(s, 0.01);
    for (const DrawnWidth& width : drawn) {
        means.diameter[width.at] = width.diameter_mm;
        sd[width.at] = fixed_sd_mm;
    }
    const Series series =
        smooth_series(means.diameter, sd, spacing_mm, 1.0, width_bend_mm, end_taper);
    const std::vector<std::size_t> nearest = nearest_measured(means.sd);
    std::vector<SectionShape> shapes;
    for (std::size_t n = 0; n < measures.size(); ++n) {
        SectionShape shape;
        shape.diameter_mm = std::max(series.value[n], 0.06);
        shape.diameter_sd_mm =
            std::hypot(series.sd[n], contrast_sd / 2 * shape.diameter_mm, model_sd_mm);
        set_ellipse(means.moments[nearest[n]], means.sd[nearest[n]], setting.sigma_psf_mm, shape);
        shapes.push_back(shape);
    }
    return shapes;
}

}  // namespace anfract::tracing
