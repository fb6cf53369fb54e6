#include "anfract/tooth/measures.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "anfract/geometry/curve_derivatives.h"
#include "anfract/geometry/straight_start.h"
#include "centreline.h"

namespace anfract {
namespace {

constexpr double to_deg = 180.0 / std::numbers::pi;

Vec3 view_direction(const ClinicalFrame& frame, double turn_deg) {
    return std::cos(turn_deg / to_deg) * frame.buccal + std::sin(turn_deg / to_deg) * frame.mesial;
}

/// Turn of the view with the largest Schneider angle: opposite views show the same, so half a turn
/// is searched, in steps and then in finer ones. The angle may jump where a slight curve begins to
/// count as a bend, which rules out methods that trust a slope.
double worst_turn_deg(const Polyline& centreline, const ClinicalFrame& frame) {
    const auto seen = [&](double turn_deg) {
        return schneider_in_view(centreline, view_direction(frame, turn_deg));
    };
    double best = 0, largest = -1;
    const auto search = [&](double from, double to, double step) {
        for (double turn = from; turn <= to + 1e-9; turn += step) {
            if (const double angle = seen(turn); angle > largest + 1e-9) {
                largest = angle;
                best = turn;
            }
        }
    };
    search(0, 176, 4);
    search(best - 4, best + 4, 1);
    search(best - 1, best + 1, 0.25);
    return std::fmod(best + 180.0, 180.0);
}

void measure_views(const Polyline& centreline, const ClinicalFrame& frame, CanalMeasures& m) {
    m.space = measure_in_space(centreline);
    m.clinical = measure_in_view(centreline, -frame.buccal);
    m.across = measure_in_view(centreline, -frame.mesial);
    m.worst_turn_deg = worst_turn_deg(centreline, frame);
    m.worst = measure_in_view(centreline, -view_direction(frame, m.worst_turn_deg));
    m.hidden_schneider_deg = std::max(0.0, m.worst.schneider_deg - m.clinical.schneider_deg);
    m.hidden_curvature_deg = m.space.total_curvature_deg - m.clinical.total_curvature_deg;
}

/// Bends count arc length along the points they were found in; the caller wants depth.
Bend at_depth(Bend bend, const Canal& canal, const Polyline& centreline) {
    for (double* place : {&bend.from_mm, &bend.to_mm, &bend.sharpest_mm}) {
        *place = depth_at(canal, centreline, *place);
    }
    return bend;
}

void measure_curve(const Canal& canal, const Polyline& centreline, const MeasureOptions& options,
                   CanalMeasures& m) {
    const std::vector<Bend> bends = bends_of(centreline, options.bends);
    m.s_shaped = is_s_shaped(bends, options.s_shape_deg);
    for (const Bend& bend : bends) m.bends.push_back(at_depth(bend, canal, centreline));
    const auto derivatives =
        curve_derivatives(centreline, {.half_window_mm = options.bends.half_window_mm});
    double sharpest = 0;
    m.least_radius_mm = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < derivatives.size(); ++i) {
        const CurvePoint& point = derivatives[i];
        const double depth = canal.samples[i].depth_mm;
        m.profile.depth_mm.push_back(depth);
        m.profile.curvature_per_mm.push_back(point.curvature());
        m.profile.curvature_sd_per_mm.push_back(point.curvature_sd_per_mm);
        // Torsion of a nearly straight piece is the quotient of two noises.
        const double curved =
            std::max(options.bends.straight_per_mm, 3.0 * point.curvature_sd_per_mm);
        const double torsion = point.curvature() > curved ? point.torsion_per_mm : 0.0;
        m.profile.torsion_per_mm.push_back(torsion);
        if (i > 0) {
            const double step = centreline.arc_mm()[i] - centreline.arc_mm()[i - 1];
            m.torsion_deg += 0.5 * step * (torsion + m.profile.torsion_per_mm[i - 1]) * to_deg;
        }
        // A straight line leaves a curvature of rounding size.
        if (point.curvature() > std::max(sharpest, 1e-6)) {
            sharpest = point.curvature();
            m.least_radius_mm = 1.0 / sharpest;
            m.least_radius_depth_mm = depth;
        }
    }
}

/// The width at a depth, between the samples beside it.
WidthAt width_at(const Canal& canal, double depth_mm, std::string place) {
    const auto& samples = canal.samples;
    std::size_t i = 1;
    while (i + 1 < samples.size() && samples[i].depth_mm < depth_mm) ++i;
    const CanalSample &a = samples[i - 1], &b = samples[i];
    const double t = std::clamp((depth_mm - a.depth_mm) / (b.depth_mm - a.depth_mm), 0.0, 1.0);
    return {std::move(place),
            depth_mm,
            std::lerp(a.diameter_mm, b.diameter_mm, t),
            std::lerp(a.diameter_sd_mm, b.diameter_sd_mm, t),
            std::lerp(a.diameter_short_mm, b.diameter_short_mm, t),
            std::lerp(a.diameter_long_mm, b.diameter_long_mm, t)};
}

void measure_widths(const Canal& canal, CanalMeasures& m) {
    const double first = canal.samples.front().depth_mm, last = canal.samples.back().depth_mm;
    m.widths.push_back(width_at(canal, first, "orifice"));
    for (int back : {5, 2, 1}) {
        if (last - back <= first) continue;
        m.widths.push_back(width_at(canal, last - back, std::to_string(back) + " mm"));
    }
}

void measure_walls(const Canal& canal, const MeasureOptions& options, CanalMeasures& m) {
    const double deepest = canal.samples.back().depth_mm - options.wall_to_foramen_mm;
    for (const CanalSample& sample : canal.samples) {
        if (!sample.wall_min_mm || sample.depth_mm > deepest) continue;
        if (m.thinnest_wall && m.thinnest_wall->wall_mm <= *sample.wall_min_mm) continue;
        m.thinnest_wall =
            ThinnestWall{*sample.wall_min_mm, sample.depth_mm, sample.wall_min_toward};
    }
}

}  // namespace

Vec3 tooth_axis(const Tooth& tooth) {
    Vec3 sum(0, 0, 0);
    for (const Canal& canal : tooth.canals) sum += straight_start(centreline_of(canal)).direction;
    // Canals that cancel out do not occur in a tooth, but may in a file.
    return sum.norm() > 1e-6 ? Vec3(sum.normalized()) : Vec3(0, 0, -1);
}

CanalMeasures measure(const Canal& canal, const ClinicalFrame& frame,
                      const MeasureOptions& options) {
    CanalMeasures m;
    m.canal = canal.name;
    m.length_mm = canal.length_mm;
    m.depth_to_foramen_mm = canal.depth_to_foramen_mm;
    m.depth_sd_mm = canal.depth_sd_mm;
    const Polyline centreline = centreline_of(canal);
    measure_views(centreline, frame, m);
    measure_curve(canal, centreline, options, m);
    measure_widths(canal, m);
    measure_walls(canal, options, m);
    return m;
}

Result<ToothMeasures> measure(const Tooth& tooth, const MeasureOptions& options) {
    if (tooth.canals.empty()) {
        return fail(ErrorCode::NotFound, "the tooth has no canals to measure", "canals",
                    "trace it again, giving the ends of a canal by hand");
    }
    ToothMeasures measures;
    measures.fdi = tooth.fdi;
    measures.frame = clinical_frame(tooth.fdi, tooth_axis(tooth));
    for (const Canal& canal : tooth.canals) {
        measures.canals.push_back(measure(canal, measures.frame, options));
    }
    measures.roots = roots_of(tooth);
    measures.code = canal_code(tooth);
    measures.separation = separation_views(tooth, measures.frame);
    return measures;
}

std::string schneider_class(double schneider_deg) {
    if (schneider_deg <= 5) return "straight";
    if (schneider_deg < 10) return "straight to moderate";
    if (schneider_deg <= 20) return "moderate";
    if (schneider_deg < 25) return "moderate to severe";
    return "severe";
}

}  // namespace anfract
