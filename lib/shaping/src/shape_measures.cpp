#include "anfract/shaping/shape_measures.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/shaping/truncated.h"

namespace anfract {
namespace {

/// Removals below this are rounding, not dentine.
constexpr double touched_mm = 1e-6;

template <class Use>
void for_each_wall(const Lumen& lumen, double to_depth_mm, Use use) {
    for (int i = 0; i < lumen.station_count(); ++i) {
        if (lumen.depth_mm[std::size_t(i)] > to_depth_mm) break;
        for (int j = 0; j < lumen.theta_count(); ++j) {
            if (!std::isnan(lumen.wall_mm(i, j))) use(i, j, lumen.wall_mm(i, j));
        }
    }
}

}  // namespace

Centring gambill(double a_before_mm, double a_after_mm, double b_before_mm, double b_after_mm) {
    const double a = a_before_mm - a_after_mm;
    const double b = b_before_mm - b_after_mm;
    Centring result;
    result.transport_mm = a - b;
    result.wall_grew = a < -touched_mm || b < -touched_mm;
    const double larger = std::max(a, b);
    if (!result.wall_grew && larger > touched_mm) result.ratio = std::min(a, b) / larger;
    return result;
}

AtDepth largest_transport_mm(const Lumen& before, const Lumen& after, double from_depth_mm) {
    AtDepth largest;
    const int half = before.theta_count() / 2;
    for (int i = 0; i < before.station_count(); ++i) {
        if (before.depth_mm[std::size_t(i)] < from_depth_mm) continue;
        for (int j = 0; j < half; ++j) {
            // Removed radius and lost wall are the same length; radius is known everywhere.
            const double shift =
                gambill(after.radius_mm(i, j), before.radius_mm(i, j), after.radius_mm(i, j + half),
                        before.radius_mm(i, j + half))
                    .transport_mm;
            if (std::abs(shift) > largest.value) {
                largest = {std::abs(shift), before.depth_mm[std::size_t(i)]};
            }
        }
    }
    return largest;
}

std::optional<double> centring_at(const Lumen& before, const Lumen& after, double depth_mm) {
    const long nearest = std::lround((depth_mm - before.depth_mm.front()) / before.spacing_mm());
    const int i = int(std::clamp<long>(nearest, 0, before.station_count() - 1));
    const int half = before.theta_count() / 2;
    Centring largest;
    for (int j = 0; j < half; ++j) {
        const Centring centring =
            gambill(after.radius_mm(i, j), before.radius_mm(i, j), after.radius_mm(i, j + half),
                    before.radius_mm(i, j + half));
        const bool first = !largest.ratio && centring.ratio;
        if (first || std::abs(centring.transport_mm) > std::abs(largest.transport_mm))
            largest = centring;
    }
    return largest.ratio;
}

std::vector<Vec3> axis_P(const Lumen& lumen) {
    std::vector<Vec3> axis;
    for (int i = 0; i < lumen.station_count(); ++i) {
        // Centroid of sectors: (2/3) integral R^3 e / integral R^2.
        Vec2 moment(0, 0);
        double area = 0;
        for (int j = 0; j < lumen.theta_count(); ++j) {
            const double theta = 2 * std::numbers::pi * j / lumen.theta_count();
            const double r = lumen.radius_mm(i, j);
            moment += r * r * r * Vec2(std::cos(theta), std::sin(theta));
            area += r * r;
        }
        const Vec2 middle = area > 0 ? Vec2(2.0 / 3 * moment / area) : Vec2(0, 0);
        const auto k = std::size_t(i);
        axis.push_back(lumen.point_P[k] + middle.x() * lumen.n1_P[k] + middle.y() * lumen.n2_P[k]);
    }
    return axis;
}

std::optional<ThinnestPlace> thinnest_touched_place(const Lumen& before, const Lumen& after,
                                                    double to_depth_mm) {
    std::optional<ThinnestPlace> thinnest;
    for_each_wall(after, to_depth_mm, [&](int i, int j, double wall) {
        if (after.radius_mm(i, j) - before.radius_mm(i, j) <= touched_mm) return;
        if (thinnest && wall >= thinnest->wall_mm) return;
        const auto k = std::size_t(i);
        const double theta = 2 * std::numbers::pi * j / after.theta_count();
        thinnest = ThinnestPlace{wall, after.depth_mm[k],
                                 std::cos(theta) * after.n1_P[k] + std::sin(theta) * after.n2_P[k]};
    });
    return thinnest;
}

std::optional<AtDepth> thinnest_wall_mm(const Lumen& lumen, double to_depth_mm) {
    std::optional<AtDepth> thinnest;
    for_each_wall(lumen, to_depth_mm, [&](int i, int, double wall) {
        if (!thinnest || wall < thinnest->value) {
            thinnest = AtDepth{wall, lumen.depth_mm[std::size_t(i)]};
        }
    });
    return thinnest;
}

std::optional<AtDepth> thinnest_touched_wall_mm(const Lumen& before, const Lumen& after,
                                                double to_depth_mm) {
    const auto place = thinnest_touched_place(before, after, to_depth_mm);
    if (!place) return std::nullopt;
    return AtDepth{place->wall_mm, place->depth_mm};
}

double section_area_mm2(const Lumen& lumen, int station) {
    return lumen.radius_mm.row(station).square().sum() * std::numbers::pi / lumen.theta_count();
}

double diameter_mm_at(const Lumen& lumen, double depth_mm) {
    const auto& depths = lumen.depth_mm;
    const auto above = std::lower_bound(depths.begin(), depths.end(), depth_mm);
    const int hi = std::min(int(above - depths.begin()), lumen.station_count() - 1);
    const int lo = std::max(0, hi - 1);
    const auto diameter = [&](int i) {
        return 2 * std::sqrt(section_area_mm2(lumen, i) / std::numbers::pi);
    };
    const double gap = depths[std::size_t(hi)] - depths[std::size_t(lo)];
    const double t = gap > 0 ? std::clamp((depth_mm - depths[std::size_t(lo)]) / gap, 0.0, 1.0) : 0;
    return (1 - t) * diameter(lo) + t * diameter(hi);
}

double volume_mm3(const Lumen& lumen) {
    double volume = 0;
    for (int i = 1; i < lumen.station_count(); ++i) {
        const double gap = lumen.depth_mm[std::size_t(i)] - lumen.depth_mm[std::size_t(i) - 1];
        volume += gap * (section_area_mm2(lumen, i) + section_area_mm2(lumen, i - 1)) / 2;
    }
    return volume;
}

double untouched_share(const Lumen& before, const Lumen& after, double to_depth_mm) {
    double untouched = 0, all = 0;
    const int count = stations_down_to(before, to_depth_mm);
    for (int i = 0; i < count; ++i) {
        for (int j = 0; j < before.theta_count(); ++j) {
            const double area = before.radius_mm(i, j);  // per station spacing and direction step
            all += area;
            if (after.radius_mm(i, j) - before.radius_mm(i, j) <= touched_mm) untouched += area;
        }
    }
    return all > 0 ? untouched / all : 1.0;
}

}  // namespace anfract
