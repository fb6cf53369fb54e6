#include "beside.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace anfract::tracing {
namespace {

/// Density at `distance2` (squared) of a round blurred tube of that diameter, up to a common
/// factor.
double tube_density(double distance2, double diameter_mm, double sigma_mm) {
    const double variance = sigma_mm * sigma_mm + diameter_mm * diameter_mm / 16;
    return diameter_mm * diameter_mm / variance * std::exp(-distance2 / (2 * variance));
}

}  // namespace

std::vector<FittedSection> near_sections(const std::vector<std::vector<FittedSection>>& others,
                                         const Vec3& point_P) {
    constexpr double reach_mm = 3.5;
    std::vector<FittedSection> near;
    for (const auto& other : others) {
        const FittedSection& section = nearest_section(other, point_P);
        if ((section.station.point_P - point_P).norm() < reach_mm) near.push_back(section);
    }
    return near;
}

double share_beside(const Vec3& point_P, const Vec3& own_P, double own_width_mm,
                    const std::vector<FittedSection>& others, double sigma_psf_mm) {
    if (others.empty()) return 1;
    const double own_distance2 = (point_P - own_P).squaredNorm();
    const double own = tube_density(own_distance2, own_width_mm, sigma_psf_mm);
    double all = own;
    double nearest2 = std::numeric_limits<double>::infinity();
    for (const FittedSection& other : others) {
        const double distance2 = (point_P - other.station.point_P).squaredNorm();
        nearest2 = std::min(nearest2, distance2);
        all += tube_density(distance2, other.diameter_mm, sigma_psf_mm);
    }
    // Far from all of them a Gaussian says nothing: the nearest has it.
    if (all < 1e-12) return own_distance2 < nearest2 ? 1.0 : 0.0;
    return own / all;
}

double crowd_sd_mm(const Vec3& own_P, double own_width_mm,
                   const std::vector<FittedSection>& others) {
    constexpr double times_touching = 1.5, share = 0.2;
    for (const FittedSection& other : others) {
        const double touching_mm = (own_width_mm + other.diameter_mm) / 2;
        if ((other.station.point_P - own_P).norm() < times_touching * touching_mm)
            return share * own_width_mm;
    }
    return 0;
}

}  // namespace anfract::tracing
