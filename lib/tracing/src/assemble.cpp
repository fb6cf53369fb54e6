#include "assemble.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/geometry/curve_derivatives.h"
#include "anfract/tooth/section_direction.h"
#include "fading.h"
#include "walls.h"

namespace anfract::tracing {
namespace {

constexpr double widest_gap_mm = 0.24;  ///< the file promises at most 0.25

std::size_t nearest_index(const std::vector<FittedSection>& sections, const Vec3& point_P) {
    const auto distance = [&](const FittedSection& s) {
        return (s.station.point_P - point_P).norm();
    };
    const auto nearest = std::min_element(
        sections.begin(), sections.end(),
        [&](const FittedSection& a, const FittedSection& b) { return distance(a) < distance(b); });
    return std::size_t(nearest - sections.begin());
}

/// Degrees in [0, 180) from section_zero to the long axis, right-handed about the apical tangent.
double long_axis_deg(const FittedSection& section) {
    const Station& s = section.station;
    const Vec3 axis =
        std::cos(section.long_axis_rad) * s.n1_P + std::sin(section.long_axis_rad) * s.n2_P;
    const Vec3 zero = section_zero_P(s.tangent_P);
    const double angle = std::atan2(axis.dot(s.tangent_P.cross(zero)), axis.dot(zero));
    const double degrees = std::fmod(angle * 180 / std::numbers::pi + 360, 180);
    return degrees >= 180 ? 0 : degrees;
}

void add_walls(const FittedSection& section, const Brick& depth, WallSheet& sheet,
               CanalSample& sample) {
    const Vec3 zero = section_zero_P(section.station.tangent_P);
    const Vec3 quarter = section.station.tangent_P.cross(zero);
    std::vector<double> wall(theta_count);
    for (int t = 0; t < theta_count; ++t) {
        const double theta = 2 * std::numbers::pi * t / theta_count;
        const Vec3 direction = std::cos(theta) * zero + std::sin(theta) * quarter;
        const double out = distance_out_mm(depth, section.station.point_P, direction);
        wall[std::size_t(t)] = std::max(out - lumen_radius_mm(section, direction), 0.0);
        if (!sample.wall_min_mm || wall[std::size_t(t)] < *sample.wall_min_mm) {
            sample.wall_min_mm = wall[std::size_t(t)];
            sample.wall_min_toward = direction;
        }
    }
    sheet.first_direction.push_back(zero);
    sheet.wall_mm.push_back(std::move(wall));
}

/// Of a guessed course, across it: the directions of a way wander (`fading.h`), so that after l mm
/// its place does by turn_sd l^(3/2) / sqrt(3).
double guess_sd_mm(double guessed_mm) {
    if (guessed_mm <= 0) return 0;
    return turn_sd_rad * std::pow(guessed_mm, 1.5) / std::numbers::sqrt3;
}

/// Fills gaps, such as between a canal and the one it runs into, so that samples are never further
/// apart than the stations of a fit.
void fill_gaps(WholeCanal& canal) {
    std::vector<FittedSection> filled;
    std::size_t own_from = 0, own_to = 0;
    for (std::size_t n = 0; n < canal.sections.size(); ++n) {
        if (n > 0) {
            const FittedSection& a = canal.sections[n - 1];
            const FittedSection& b = canal.sections[n];
            const double gap = (b.station.point_P - a.station.point_P).norm();
            const int parts = int(std::ceil(gap / widest_gap_mm));
            for (int k = 1; k < parts; ++k) {
                const double t = double(k) / parts;
                FittedSection between = t < 0.5 ? a : b;
                between.station.point_P = (1 - t) * a.station.point_P + t * b.station.point_P;
                between.station.tangent_P = (b.station.point_P - a.station.point_P) / gap;
                between.station.n1_P =
                    (a.station.n1_P -
                     a.station.n1_P.dot(between.station.tangent_P) * between.station.tangent_P)
                        .normalized();
                between.station.n2_P = between.station.tangent_P.cross(between.station.n1_P);
                between.diameter_mm = (1 - t) * a.diameter_mm + t * b.diameter_mm;
                filled.push_back(between);
            }
        }
        if (n == canal.own_from) own_from = filled.size();
        filled.push_back(canal.sections[n]);
        if (n + 1 == canal.own_to) own_to = filled.size();
    }
    canal = {std::move(filled), own_from, own_to};
}

}  // namespace

std::vector<WholeCanal> whole_canals(const std::vector<TracedCanal>& traced) {
    std::vector<WholeCanal> whole;
    for (const TracedCanal& canal : traced) {
        WholeCanal result;
        const auto& own = canal.fit.sections;
        if (canal.path.leaves >= 0) {
            const auto& parent = whole[std::size_t(canal.path.leaves)].sections;
            const std::size_t at = nearest_index(parent, own.front().station.point_P);
            result.sections.assign(parent.begin(), parent.begin() + std::ptrdiff_t(at));
        }
        result.own_from = result.sections.size();
        result.sections.insert(result.sections.end(), own.begin(), own.end());
        result.own_to = result.sections.size();
        if (canal.path.joins >= 0) {
            const auto& parent = whole[std::size_t(canal.path.joins)].sections;
            const std::size_t at = nearest_index(parent, own.back().station.point_P);
            // The own end lies on the parent already.
            for (std::size_t n = at + 1; n < parent.size(); ++n) {
                const double gap =
                    (parent[n].station.point_P - result.sections.back().station.point_P).norm();
                if (gap > 0.05) result.sections.push_back(parent[n]);
            }
        }
        fill_gaps(result);
        whole.push_back(std::move(result));
    }
    return whole;
}

Canal to_canal(const WholeCanal& whole, const TracedCanal& traced, const Vec3& reference_P,
               const Brick& depth) {
    Canal canal;
    std::vector<Vec3> points;
    for (const FittedSection& s : whole.sections) points.push_back(s.station.point_P);
    const Polyline line(points);
    const std::vector<CurvePoint> derivatives = curve_derivatives(line);
    const double first_depth = (points.front() - reference_P).norm();

    canal.presence = traced.presence;
    canal.by_hand = traced.by_hand;
    canal.orifice_P = points.front();
    canal.foramen_P = points.back();
    canal.length_mm = line.length_mm();
    canal.depth_to_foramen_mm = first_depth + canal.length_mm;
    // A guessed end may be off by half its length either way.
    canal.depth_sd_mm = std::hypot(traced.fit.foramen_sd_mm, 0.5 * traced.path.unseen_mm);
    if (traced.fit.centre_correlation_mm > 0)
        canal.point_correlation_mm = traced.fit.centre_correlation_mm;
    const double seen_mm = line.arc_mm()[whole.own_to - 1] - traced.path.unseen_mm;
    WallSheet sheet;
    sheet.theta_count = theta_count;
    for (std::size_t n = 0; n < whole.sections.size(); ++n) {
        const FittedSection& section = whole.sections[n];
        CanalSample sample;
        sample.depth_mm = first_depth + line.arc_mm()[n];
        sample.point_P = section.station.point_P;
        const double guessed_mm = n < whole.own_to ? line.arc_mm()[n] - seen_mm : 0;
        sample.point_sd_mm = std::hypot(section.centre_sd_mm, guess_sd_mm(guessed_mm));
        sample.diameter_mm = section.diameter_mm;
        sample.diameter_sd_mm = section.diameter_sd_mm;
        sample.diameter_long_mm = section.diameter_mm * std::sqrt(section.ratio);
        sample.diameter_short_mm = section.diameter_mm / std::sqrt(section.ratio);
        sample.long_axis_deg = long_axis_deg(section);
        sample.curvature_per_mm = derivatives[n].curvature();
        add_walls(section, depth, sheet, sample);
        canal.samples.push_back(sample);
    }
    canal.wall_sheet = std::move(sheet);
    return canal;
}

}  // namespace anfract::tracing
