#include "anfract/tooth/bends.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/geometry/curve_derivatives.h"
#include "anfract/geometry/moving_frame.h"

namespace anfract {
namespace {

constexpr double to_deg = 180.0 / std::numbers::pi;

/// Curvature along the canal in its twist-free frame, where a bend in one plane keeps one
/// direction.
struct CurvatureTrack {
    std::vector<double> arc_mm;
    std::vector<Vec2> curvature;  ///< along n1 and n2
    std::vector<CurvePoint> space;
    double noise_per_mm = 0;

    std::size_t size() const { return arc_mm.size(); }
    double at(std::size_t i) const { return curvature[i].norm(); }
    double largest(std::size_t first, std::size_t last) const {
        double value = 0;
        for (std::size_t i = first; i <= last; ++i) value = std::max(value, at(i));
        return value;
    }
};

/// First and last sample of a stretch.
struct Run {
    std::size_t first, last;
};

CurvatureTrack track_of(const Polyline& centreline, const BendOptions& options) {
    CurvatureTrack track;
    track.arc_mm = centreline.arc_mm();
    track.space = curve_derivatives(centreline, {.half_window_mm = options.half_window_mm});
    std::vector<Vec3> tangents;
    for (const CurvePoint& point : track.space) {
        tangents.push_back(point.tangent);
        track.noise_per_mm += point.curvature_sd_per_mm / static_cast<double>(track.space.size());
    }
    const auto frames = rotation_minimising_frames(centreline.points(), tangents);
    for (std::size_t i = 0; i < frames.size(); ++i) {
        const Vec3& k = track.space[i].curvature_per_mm;
        track.curvature.push_back({k.dot(frames[i].n1), k.dot(frames[i].n2)});
    }
    return track;
}

/// Stretches above the threshold, cut where the direction of bending turns away from its mean so
/// far.
std::vector<Run> runs_of_one_direction(const CurvatureTrack& track, const BendOptions& options) {
    const double threshold = std::max(options.straight_per_mm, 2.0 * track.noise_per_mm);
    const double least_cosine = std::cos(options.other_direction_deg / to_deg);
    std::vector<Run> runs;
    Vec2 sum(0, 0);
    bool inside = false;
    for (std::size_t i = 0; i < track.size(); ++i) {
        const bool bends = track.at(i) >= threshold;
        const bool turned =
            inside && sum.dot(track.curvature[i]) < least_cosine * sum.norm() * track.at(i);
        if (bends && (!inside || turned)) {
            runs.push_back({i, i});
            sum.setZero();
        }
        inside = bends;
        if (!inside) continue;
        sum += track.curvature[i];
        runs.back().last = i;
    }
    return runs;
}

/// Cuts a run at its deepest valley, again and again, as long as that is below half of the peaks
/// beside it.
void cut_at_valleys(const CurvatureTrack& track, Run run, std::vector<Run>& pieces) {
    std::vector<double> peak_after(track.size(), 0.0);
    double peak = 0;
    for (std::size_t i = run.last + 1; i-- > run.first;)
        peak_after[i] = peak = std::max(peak, track.at(i));
    double deepest = 0.5, peak_before = 0;
    std::size_t cut = run.last;
    for (std::size_t i = run.first; i <= run.last; ++i) {
        peak_before = std::max(peak_before, track.at(i));
        const double depth = track.at(i) / std::min(peak_before, peak_after[i]);
        if (depth < deepest) {
            deepest = depth;
            cut = i;
        }
    }
    if (cut == run.last) {
        pieces.push_back(run);
        return;
    }
    cut_at_valleys(track, {run.first, cut}, pieces);
    cut_at_valleys(track, {cut + 1, run.last}, pieces);
}

/// Arc length where curvature passes `level` on the way from sample `i` (at or above it) to its
/// neighbour.
double crossing(const CurvatureTrack& track, std::size_t i, std::size_t neighbour, double level) {
    const double inside = track.at(i), outside = track.at(neighbour);
    const double t =
        inside > outside ? std::clamp((inside - level) / (inside - outside), 0.0, 1.0) : 0.5;
    return track.arc_mm[i] + t * (track.arc_mm[neighbour] - track.arc_mm[i]);
}

/// The usual curvature of a bend: the median of what reaches half its peak. The peak itself is the
/// largest of many uncertain values.
double plateau_of(const CurvatureTrack& track, const Run& run) {
    const double half = 0.5 * track.largest(run.first, run.last);
    std::vector<double> high;
    for (std::size_t i = run.first; i <= run.last; ++i) {
        if (track.at(i) >= half) high.push_back(track.at(i));
    }
    const auto middle = high.begin() + static_cast<std::ptrdiff_t>(high.size() / 2);
    std::nth_element(high.begin(), middle, high.end());
    return *middle;
}

Bend bend_in(const CurvatureTrack& track, const Run& run) {
    Bend bend;
    std::size_t peak = run.first;
    Vec2 turned(0, 0);
    for (std::size_t i = run.first; i <= run.last; ++i) {
        if (track.at(i) > track.at(peak)) peak = i;
        // Each sample stands for half the way to its neighbours.
        const double before = i > 0 ? track.arc_mm[i] - track.arc_mm[i - 1] : 0.0;
        const double after = i + 1 < track.size() ? track.arc_mm[i + 1] - track.arc_mm[i] : 0.0;
        turned += 0.5 * (before + after) * track.curvature[i];
    }
    const double half = 0.5 * plateau_of(track, run);
    std::size_t first = run.first, last = run.last;
    while (first < peak && track.at(first) < half) ++first;
    while (last > peak && track.at(last) < half) --last;
    bend.from_mm = first > 0 ? crossing(track, first, first - 1, half) : 0.0;
    bend.to_mm =
        last + 1 < track.size() ? crossing(track, last, last + 1, half) : track.arc_mm.back();
    bend.angle_deg = turned.norm() * to_deg;
    bend.radius_mm = (bend.to_mm - bend.from_mm) / turned.norm();
    bend.least_radius_mm = 1.0 / track.at(peak);
    bend.sharpest_mm = track.arc_mm[peak];
    bend.toward_P = track.space[peak].curvature_per_mm.normalized();
    bend.plane_normal_P = track.space[peak].tangent.cross(bend.toward_P).normalized();
    bend.sense_rad = std::atan2(turned.y(), turned.x());
    return bend;
}

/// Joins pieces that turn on to the same side before the window is past: within it a ripple of the
/// line cannot be told from a straight stretch between two bends.
std::vector<Run> joined(const CurvatureTrack& track, std::vector<Run> pieces,
                        const BendOptions& options) {
    const double least_cosine = std::cos(options.other_direction_deg / to_deg);
    for (std::size_t n = 1; n < pieces.size();) {
        const Bend before = bend_in(track, pieces[n - 1]), after = bend_in(track, pieces[n]);
        const bool same_side = std::cos(after.sense_rad - before.sense_rad) > least_cosine;
        if (!same_side || after.from_mm - before.to_mm > options.half_window_mm) {
            ++n;
            continue;
        }
        pieces[n - 1].last = pieces[n].last;
        pieces.erase(pieces.begin() + std::ptrdiff_t(n));
        n = std::max<std::size_t>(1, n - 1);
    }
    return pieces;
}

/// The largest distance of the canal about a bend from the chord beneath it.
double lift_mm(const Polyline& centreline, const Bend& bend) {
    constexpr double beside_mm = 0.75;
    const double from = bend.from_mm - beside_mm, to = bend.to_mm + beside_mm;
    const Vec3 start = centreline.at(from), chord = (centreline.at(to) - start).normalized();
    double lift = 0;
    for (std::size_t i = 0; i < centreline.points().size(); ++i) {
        if (centreline.arc_mm()[i] < from || centreline.arc_mm()[i] > to) continue;
        lift = std::max(lift, (centreline.points()[i] - start).cross(chord).norm());
    }
    return lift;
}

}  // namespace

std::vector<Bend> bends_of(const Polyline& centreline, const BendOptions& options) {
    const CurvatureTrack track = track_of(centreline, options);
    std::vector<Run> pieces;
    for (const Run& run : runs_of_one_direction(track, options)) cut_at_valleys(track, run, pieces);
    std::vector<Bend> bends;
    for (const Run& piece : joined(track, std::move(pieces), options)) {
        const Bend bend = bend_in(track, piece);
        if (bend.angle_deg < options.least_angle_deg) continue;
        if (lift_mm(centreline, bend) >= options.least_lift_mm) bends.push_back(bend);
    }
    return bends;
}

bool is_s_shaped(const std::vector<Bend>& bends, double least_angle_deg) {
    const Bend* previous = nullptr;
    for (const Bend& bend : bends) {
        if (bend.angle_deg < least_angle_deg) continue;
        if (previous && std::cos(bend.sense_rad - previous->sense_rad) < -0.5) return true;
        previous = &bend;
    }
    return false;
}

}  // namespace anfract
