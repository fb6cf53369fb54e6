#include "edge_columns.h"

#include <cmath>
#include <limits>
#include <numbers>

namespace anfract::tracing {
namespace {

constexpr double ligament_mm = 0.2;
constexpr double least_inner = 0.75, most_outer = 0.25;  ///< of the contrast, above the pulp

double normal_distribution(double x) { return std::erfc(-x / std::numbers::sqrt2) / 2; }

}  // namespace

EdgeModel::EdgeModel(const GreyLevels& levels) : levels_(levels) {
    bone_ = profile(ligament_mm, std::numeric_limits<float>::max());
    open_ = profile(0, levels.pulp + most_outer * levels.contrast());
}

EdgeModel::Profile EdgeModel::profile(double slit_mm, double greatest_outer) const {
    Profile p;
    p.greatest_outer = float(greatest_outer);
    for (int j = -reach; j <= reach; ++j) {
        const double t = j * column_step_mm;
        const double beyond = normal_distribution(t / levels_.sigma_psf_mm);
        const double outside = normal_distribution((t - slit_mm) / levels_.sigma_psf_mm);
        const auto n = std::size_t(j + reach);
        p.inside[n] = float(1 - beyond);
        p.outside[n] = float(outside);
        p.fixed[n] = float(levels_.pulp * (beyond - outside));
        p.ii += p.inside[n] * p.inside[n];
        p.io += p.inside[n] * p.outside[n];
        p.oo += p.outside[n] * p.outside[n];
    }
    return p;
}

float EdgeModel::misfit(const float* grey, const Profile& p) const {
    float iy = 0, oy = 0;
    for (std::size_t n = 0; n < samples; ++n) {
        const float y = grey[int(n) - reach] - p.fixed[n];
        iy += p.inside[n] * y;
        oy += p.outside[n] * y;
    }
    const float det = p.ii * p.oo - p.io * p.io;
    float inner = (iy * p.oo - oy * p.io) / det;
    const auto least = float(levels_.pulp + least_inner * levels_.contrast());
    inner = std::max(inner, least);
    float outer = (oy - p.io * inner) / p.oo;
    if (outer > p.greatest_outer) {
        outer = p.greatest_outer;
        inner = std::max((iy - p.io * outer) / p.ii, least);
    }
    float sum = 0;
    for (std::size_t n = 0; n < samples; ++n) {
        const float left =
            grey[int(n) - reach] - p.fixed[n] - inner * p.inside[n] - outer * p.outside[n];
        sum += left * left;
    }
    const auto contrast = float(levels_.contrast());
    return sum / (float(samples) * contrast * contrast);
}

float EdgeModel::misfit(const float* grey) const {
    return std::min(misfit(grey, bone_), misfit(grey, open_));
}

}  // namespace anfract::tracing
