#include "parting.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tube_mixture.h"

namespace anfract::tracing {
namespace {

constexpr double step_mm = 0.2;
constexpr double slab_mm = 0.4;
constexpr double surely_two_mm = 0.6;     ///< above this distance the path itself is right
constexpr double one_mm = 0.16;           ///< below it the two are one
constexpr double resolved_sigma = 3.5;    ///< of the point spread, between centres
constexpr double nearly_touching = 1.25;  ///< of where the lumens touch
constexpr double least_approach = 0.1;    ///< mm nearer in a mm down
constexpr double longest_mm = 6;
constexpr double closing_power = 1.5;     ///< of what is left of it, that the gap falls with
constexpr double longest_close_mm = 4.0;  ///< of the last stretch, too close to tell

BlurredTube tube_of(double diameter_mm, double sigma_mm, const Vec2& centre_mm) {
    return {centre_mm, std::numbers::pi / 4 * diameter_mm * diameter_mm,
            sigma_mm * sigma_mm + diameter_mm * diameter_mm / 16};
}

/// Leads two tubes to where they explain a section together; the second starts at its predicted
/// place.
void lead(const SectionImage& image, const GreyLevels& levels, std::vector<BlurredTube>& tubes) {
    const Vec2 predicted = tubes[1].centre_mm;
    for (int round = 0; round < 8; ++round) {
        const auto shares = shared_out(image, levels.dentine, levels.contrast(), tubes);
        for (std::size_t k = 0; k < tubes.size(); ++k) {
            if (shares[k].area_mm2 <= 0) continue;
            tubes[k].area_mm2 = std::max(0.5 * (tubes[k].area_mm2 + shares[k].area_mm2), 1e-4);
            tubes[k].centre_mm = 0.5 * (tubes[k].centre_mm + shares[k].centroid_mm);
        }
        // What the last sections say counts as much as this one.
        tubes[1].centre_mm = 0.75 * tubes[1].centre_mm + 0.25 * predicted;
    }
}

/// Leads a canal on from `offset` beside its other one's line to where it lies on it: the offset
/// falls to nothing together with its slope, since canals that run into one leave no kink.
void close_in(const Polyline& beside, double from_mm, const std::vector<Station>& stations,
              const Vec2& offset, double approach, std::vector<Vec3>& points) {
    constexpr double least_mm = 0.3;
    const double left_mm = std::max(beside.length_mm() - from_mm - least_mm, least_mm);
    const double way_mm = std::min(
        std::clamp(closing_power * offset.norm() / approach, least_mm, longest_close_mm), left_mm);
    for (const Station& station : stations) {
        const double share = 1 - (station.s_mm - from_mm) / way_mm;
        if (share >= 1 || share * way_mm < step_mm / 2) continue;
        const Vec2 here = std::pow(share, closing_power) * offset;
        points.push_back(station.at(here.x(), here.y()));
    }
    points.push_back(beside.at(from_mm + way_mm));
}

}  // namespace

Parting follow_beside(const FitInput& input, const Polyline& line, const FittedCanal& into) {
    const Polyline beside = line_of(into);
    const auto depth_at = [&](const Vec3& p) {
        return interpolate(input.body.depth, input.body.depth.geometry.to_voxel(p));
    };
    double s = line.length_mm();
    while (s > 0.5 && beside.nearest(line.at(s)).distance_mm < surely_two_mm) s -= 0.1;
    std::vector<Vec3> points;
    for (std::size_t n = 0; n < line.points().size() && line.arc_mm()[n] <= s; ++n) {
        points.push_back(line.points()[n]);
    }
    const std::vector<Station> stations = stations_along(beside, step_mm);
    const double at = beside.nearest(points.back()).s_mm;
    Parting parting;

    const auto offset_at = [&](const Station& station, const Vec3& p) {
        return Vec2((p - station.point_P).dot(station.n1_P),
                    (p - station.point_P).dot(station.n2_P));
    };
    Vec2 offset{0, 0};
    Vec2 slope{0, 0};
    double area = 0;
    bool started = false;
    std::size_t k = 0;
    for (; k < stations.size(); ++k) {
        const Station& station = stations[k];
        if (station.s_mm < at) continue;
        if (station.s_mm > at + longest_mm || depth_at(station.point_P) < 0.3F) break;
        if (!started) {
            // The approach so far, over the last millimetre of the path.
            const Vec3 earlier = line.at(std::max(0.0, s - 1.0));
            const Station& there = stations[k > 5 ? k - 5 : 0];
            offset = offset_at(station, points.back());
            slope = (offset - offset_at(there, earlier)) / std::max(station.s_mm - there.s_mm, 0.5);
            if (slope.norm() > 0.6) slope *= 0.6 / slope.norm();
        } else {
            offset += slope * step_mm;
        }
        const FittedSection& clean = nearest_section(into.sections, station.point_P);
        const double sigma = input.levels.sigma_psf_mm;
        std::vector<BlurredTube> tubes{tube_of(std::min(clean.diameter_mm, 0.6), sigma, Vec2(0, 0)),
                                       tube_of(0.22, sigma, offset)};
        if (started) tubes[1].area_mm2 = area;
        const SectionImage image =
            sample_section(input.brick, station, 1.1, slab_mm,
                           [&](const Vec3& p) { return depth_at(p) > 0.25F ? 1.0 : 0.0; });
        lead(image, input.levels, tubes);
        const BlurredTube &first = tubes[0], &second = tubes[1];
        const Vec2 gap = second.centre_mm - first.centre_mm;
        const double touching = std::sqrt(first.area_mm2 / std::numbers::pi) +
                                std::sqrt(second.area_mm2 / std::numbers::pi);
        // Nearer than this two blurred lumens cannot be told from one oval lumen. While they close
        // in on one another the approach so far says more than the section.
        const double unresolved_mm = std::min(resolved_sigma * sigma, nearly_touching * touching);
        const bool unresolved = started && gap.norm() < unresolved_mm &&
                                -slope.dot(offset.normalized()) > least_approach;
        const bool faint = started && second.area_mm2 < 0.25 * area;
        // Lumens that touch are one; where their centres meet is then read off the approach.
        if (gap.norm() < std::max(one_mm, touching) || gap.norm() > 1.3 * surely_two_mm || faint ||
            unresolved)
            break;
        slope = 0.6 * slope + 0.4 * (second.centre_mm - offset + slope * step_mm) / step_mm;
        if (slope.norm() > 0.6) slope *= 0.6 / slope.norm();
        offset = second.centre_mm;
        area = started ? 0.7 * area + 0.3 * second.area_mm2 : second.area_mm2;
        started = true;
        points.push_back(station.at(offset.x(), offset.y()));
    }
    parting.apart_to_end =
        k < stations.size() && depth_at(stations[k].point_P) < 0.3F && offset.norm() > 2 * one_mm;
    if (!parting.apart_to_end) {
        const double approach = std::max(-slope.dot(offset.normalized()), 0.2);
        const double here = k > 0 ? stations[std::min(k, stations.size()) - 1].s_mm : at;
        close_in(beside, here, stations, offset, approach, points);
    }
    parting.line = Polyline(points);
    return parting;
}

}  // namespace anfract::tracing
