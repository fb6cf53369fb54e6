#include "tube_model.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

constexpr double least_area_mm2 = 0.001;
constexpr int rounds = 4;
constexpr double least_gain =
    1e-6;  ///< below it the tube lies outside the window; within, some 1000

struct DiscPoint {
    Vec2 at;
    double weight;
};

/// Places in the unit disc whose weighted mean stands for the mean over it: Gauss and Legendre's
/// three nodes in the squared radius, eight points on each ring, the rings turned against each
/// other.
const std::array<DiscPoint, 24>& disc_points() {
    static const std::array<DiscPoint, 24> points = [] {
        const double node = 0.5 * std::sqrt(0.6);
        const std::array<double, 3> squared{0.5 - node, 0.5, 0.5 + node};
        const std::array<double, 3> weights{5.0 / 18, 8.0 / 18, 5.0 / 18};
        std::array<DiscPoint, 24> made;
        for (std::size_t n = 0; n < made.size(); ++n) {
            const std::size_t ring = n / 8;
            const double r = std::sqrt(squared[ring]);
            const double turn = 2 * std::numbers::pi * (double(n % 8) / 8 + double(ring) / 24);
            made[n] = {r * Vec2(std::cos(turn), std::sin(turn)), weights[ring] / 8};
        }
        return made;
    }();
    return points;
}

}  // namespace

double TubeModel::long_diameter_mm() const {
    return 2 * std::sqrt(area_mm2 / std::numbers::pi * ratio);
}

TubeOnGrid::Terms TubeOnGrid::terms(double place_mm, const PerPoint& point_mm,
                                    double variance_mm2) {
    const PerPoint d = place_mm - point_mm;
    return {(-d * d / (2 * variance_mm2)).exp(), d};
}

TubeOnGrid::TubeOnGrid(const TubeModel& model, const std::vector<double>& x_mm,
                       const std::vector<double>& y_mm) {
    const double a = model.long_diameter_mm() / 2, b = a / model.ratio;
    const Vec2 axis(std::cos(model.long_axis_rad), std::sin(model.long_axis_rad));
    const double variance = model.sigma_mm * model.sigma_mm;
    PerPoint weight, along_x, along_y;
    for (int n = 0; n < points; ++n) {
        const DiscPoint& point = disc_points()[std::size_t(n)];
        weight[n] = point.weight;
        along_x[n] = a * point.at.x() * axis.x() - b * point.at.y() * axis.y();
        along_y[n] = a * point.at.x() * axis.y() + b * point.at.y() * axis.x();
    }
    // As the area grows by a share, each point moves outward by half of it.
    for (const double x : x_mm) {
        Terms t = terms(x - model.centre_mm.x(), along_x, variance);
        columns_.push_back({weight * t.gauss, 1 + t.change * along_x / (2 * variance)});
    }
    for (const double y : y_mm) {
        Terms t = terms(y - model.centre_mm.y(), along_y, variance);
        rows_.push_back({t.gauss, t.change * along_y / (2 * variance)});
    }
    area_scale_ = 1 / (2 * std::numbers::pi * variance);
    missing_scale_ = area_scale_ * model.area_mm2;
}

AreaFit fit_area(const SectionImage& image, const std::vector<float>& missing,
                 const std::vector<PixelRole>& roles, const SectionSetting& setting,
                 double contrast_grey, TubeModel model) {
    const double p = image.pixel_mm;
    AreaFit fit;
    model.area_mm2 = std::max(model.area_mm2, least_area_mm2);
    std::vector<double> places_mm;
    for (int x = -image.half; x <= image.half; ++x) places_mm.push_back(x * p);
    double weights = 0, squares = 0, gain = 0, ring = 0;
    for (int round = 0; round < rounds; ++round) {
        double excess = 0, tail = 0;
        weights = squares = gain = ring = 0;
        const TubeOnGrid tube(model, places_mm, places_mm);
        for (int y = -image.half; y <= image.half; ++y) {
            for (int x = -image.half; x <= image.half; ++x) {
                const std::size_t n = image.index(x, y);
                if (roles[n] == PixelRole::None) continue;
                const TubeOnGrid::Value value =
                    tube.at(std::size_t(x + image.half), std::size_t(y + image.half));
                if (roles[n] == PixelRole::Ring) {
                    tail += value.missing;
                    ring += 1;
                    continue;
                }
                const double w = value.by_area * value.missing;
                weights += w;
                squares += w * w;
                gain += w * value.by_area;
                excess += w * (double(missing[n]) - value.missing);
            }
        }
        if (gain < least_gain) return {};
        excess += weights * tail / std::max(ring, 1.0);
        const double step = std::clamp(excess / gain, -0.5 * model.area_mm2, model.area_mm2);
        model.area_mm2 = std::max(model.area_mm2 + step, least_area_mm2);
    }
    fit.area_mm2 = model.area_mm2;
    // Noise hangs together over some distance (and interpolation adds to it): weights narrower than
    // that gather less of it than their squares say.
    const double p2 = p * p;
    const double noise_variance = std::pow(noise_sigma_mm(setting), 2);
    const double spread = weights * weights * p2 / (4 * std::numbers::pi * squares);
    const double power = setting.noise_cell_mm3 / setting.slab_mm;
    const double own = power * squares / p2 * spread / (spread + noise_variance);
    const double from_ring = power * weights * weights / std::max(ring * p2, p2);
    fit.sd_mm2 = setting.noise / contrast_grey * std::sqrt(own + from_ring) / gain;
    return fit;
}

}  // namespace anfract::tracing
