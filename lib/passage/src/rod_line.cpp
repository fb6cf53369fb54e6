#include "rod_line.h"

#include <algorithm>
#include <cmath>

#include "anfract/geometry/moving_frame.h"

namespace anfract {
namespace {

/// Fewer have no circle through them.
constexpr std::size_t least_points = 3;

/// A cubic curve through points, read by arc length, going on straight beyond its ends.
class Curve {
  public:
    explicit Curve(const std::vector<Vec3>& points)
        : points_(points), tangents_(tangents_of(points)), arc_(points.size(), 0.0) {
        for (std::size_t i = 1; i < points.size(); ++i) {
            const double chord = (points[i] - points[i - 1]).norm();
            const double turn = (tangents_[i] - tangents_[i - 1]).squaredNorm();
            arc_[i] = arc_[i - 1] + chord * (1 + turn / 24);  // arc over chord of a circle
        }
    }

    double length_mm() const { return arc_.back(); }

    /// @pre called with rising `s_mm`
    Vec3 at(double s_mm) {
        if (s_mm <= 0) return points_.front() + s_mm * tangents_.front();
        if (s_mm >= length_mm()) return points_.back() + (s_mm - length_mm()) * tangents_.back();
        while (k_ + 2 < points_.size() && arc_[k_ + 1] < s_mm) ++k_;
        const double h = arc_[k_ + 1] - arc_[k_];
        const double t = (s_mm - arc_[k_]) / h;
        return (1 + 2 * t) * (1 - t) * (1 - t) * points_[k_] +
               t * t * (3 - 2 * t) * points_[k_ + 1] +
               h * t * (1 - t) * ((1 - t) * tangents_[k_] - t * tangents_[k_ + 1]);
    }

    /// Arc length at which the curve leaves the half-space behind a plane for good, looked for from
    /// its upper (`from_top`) or lower end.
    double crossing_mm(const GuidePlace& plane, bool from_top) const {
        const auto ahead = [&](std::size_t i) {
            return (points_[i] - plane.point_P).dot(plane.tangent_P);
        };
        const std::size_t last = points_.size() - 1;
        std::size_t i = from_top ? 0 : last;
        if (from_top) {
            while (i < last && ahead(i) < 0) ++i;
        } else {
            while (i > 0 && ahead(i) > 0) --i;
        }
        // Between this point and its neighbour on the other side of the plane, or beyond the end.
        const bool at_end = i == (from_top ? 0 : last);
        const double slope = std::max(tangents_[i].dot(plane.tangent_P), least_slope);
        if (at_end) return arc_[i] - ahead(i) / slope;
        const std::size_t other = from_top ? i - 1 : i + 1;
        const double t = ahead(i) / (ahead(i) - ahead(other));
        return arc_[i] + t * (arc_[other] - arc_[i]);
    }

  private:
    static constexpr double least_slope = 0.2;  // of a device against the plane it starts from
    const std::vector<Vec3>& points_;
    std::vector<Vec3> tangents_;
    std::vector<double> arc_;
    std::size_t k_ = 0;
};

/// The place of the centreline whose normal plane holds `point`, from a guess nearby, to 0.2 um:
/// across the plane, walls are seen to the square of that.
GuidePlace nearest_place(const Guide& guide, const Vec3& point, double& depth_mm) {
    // Where normal planes cross, a step is kept from running away.
    constexpr double farthest_mm = 0.3, least_stretch = 0.3, close_mm = 2e-4;
    constexpr int most_steps = 2;
    for (int i = 0;; ++i) {
        const GuidePoint near = guide.point(depth_mm);
        const Vec3 away = point - near.point_P;
        const double square = near.first.squaredNorm();
        const double stretch =
            std::max(square - away.dot(near.second_per_mm), least_stretch * square);
        const double step = std::clamp(away.dot(near.first) / stretch, -farthest_mm, farthest_mm);
        if (i == most_steps || std::abs(step) < close_mm) return guide.place(depth_mm, near);
        depth_mm = std::clamp(depth_mm + step, guide.orifice_mm(), guide.foramen_mm());
    }
}

}  // namespace

void RodLine::reserve(std::size_t count) {
    for (auto* list : {&point_P, &n1_P, &n2_P, &tangent_P}) list->reserve(count);
    curvature_per_mm.reserve(count);
    depth_mm.reserve(count);
    place.reserve(count);
}

std::vector<Vec3> tangents_of(const std::vector<Vec3>& points) {
    const std::size_t n = points.size();
    std::vector<Vec3> tangents(n);
    for (std::size_t i = 1; i + 1 < n; ++i) {
        const Vec3 chord = points[i + 1] - points[i - 1];
        const double square = chord.squaredNorm();
        tangents[i] = square > 0 ? Vec3(1 / std::sqrt(square) * chord) : chord;
    }
    // The circle through the last three points, carried half a piece on.
    tangents[0] = (-1.5 * points[0] + 2 * points[1] - 0.5 * points[2]).normalized();
    tangents[n - 1] = (1.5 * points[n - 1] - 2 * points[n - 2] + 0.5 * points[n - 3]).normalized();
    return tangents;
}

namespace {

/// Points without those that fold back: on the inner side of a sharp bend the normal planes of the
/// canal cross inside it, and neighbouring offsets may pass each other there.
std::vector<Vec3> unfolded(const std::vector<Vec3>& points, const std::vector<GuidePlace>& places) {
    constexpr double least_advance = 0.25;  // of the mean spacing
    double mean = 0;
    for (std::size_t i = 1; i < points.size(); ++i) mean += (points[i] - points[i - 1]).norm();
    mean /= static_cast<double>(points.size() - 1);
    std::vector<Vec3> kept{points.front()};
    for (std::size_t i = 1; i < points.size(); ++i) {
        const double advance = (points[i] - kept.back()).dot(places[i].tangent_P);
        if (advance > least_advance * mean) kept.push_back(points[i]);
    }
    return kept;
}

}  // namespace

RodLine line_of_canal(const Guide& guide, double tip_depth_mm, int count) {
    RodLine line;
    line.reserve(static_cast<std::size_t>(count));
    line.spacing_mm = (tip_depth_mm - guide.orifice_mm()) / (count - 1);
    for (int i = 0; i < count; ++i) {
        const double depth = guide.orifice_mm() + i * line.spacing_mm;
        const GuidePlace& place = line.place.emplace_back(guide.place(depth));
        line.point_P.push_back(place.point_P);
        line.tangent_P.push_back(place.tangent_P);
        line.n1_P.push_back(place.n1_P);
        line.n2_P.push_back(place.n2_P);
        line.curvature_per_mm.push_back(guide.curvature_per_mm(depth));
        line.depth_mm.push_back(depth);
    }
    return line;
}

namespace {

/// Spaces n nodes evenly along the curve through `points` from the orifice to the tip.
/// @param guess_mm  about the depth of a node, from its number and its arc length
template <class Guess>
RodLine laid_along(const Guide& guide, const std::vector<Vec3>& points, double tip_depth_mm,
                   std::size_t n, const Vec3& n1_P, const Guess& guess_mm) {
    Curve curve(points);
    const double top = curve.crossing_mm(guide.place(guide.orifice_mm()), true);
    const double tip = curve.crossing_mm(guide.place(tip_depth_mm), false);
    RodLine line;
    line.reserve(n);
    for (std::size_t i = 0; i < n; ++i) {
        const double s = top + (tip - top) * static_cast<double>(i) / static_cast<double>(n - 1);
        line.point_P.push_back(curve.at(s));
        line.depth_mm.push_back(guess_mm(i, s));
    }
    line.tangent_P = tangents_of(line.point_P);
    const auto frames = rotation_minimising_frames(line.point_P, line.tangent_P, n1_P);
    double length = 0;
    for (std::size_t i = 1; i < n; ++i) length += (line.point_P[i] - line.point_P[i - 1]).norm();
    line.spacing_mm = length / static_cast<double>(n - 1);
    for (std::size_t i = 0; i < n; ++i) {
        line.n1_P.push_back(frames[i].n1);
        line.n2_P.push_back(frames[i].n2);
        line.place.push_back(nearest_place(guide, line.point_P[i], line.depth_mm[i]));
        if (i > 0 && line.depth_mm[i] < line.depth_mm[i - 1]) {
            line.depth_mm[i] = line.depth_mm[i - 1];
            line.place[i] = line.place[i - 1];
        }
        Vec3 bend(0, 0, 0);
        if (i > 0 && i + 1 < n) {
            bend = (line.point_P[i - 1] - 2 * line.point_P[i] + line.point_P[i + 1]) /
                   (line.spacing_mm * line.spacing_mm);
        }
        line.curvature_per_mm.emplace_back(bend.dot(frames[i].n1), bend.dot(frames[i].n2));
    }
    return line;
}

}  // namespace

RodLine line_through(const Guide& guide, const std::vector<Vec3>& points, const RodLine& old,
                     double tip_depth_mm) {
    const std::vector<Vec3> kept = unfolded(points, old.place);
    if (kept.size() < least_points) return {};
    return laid_along(guide, kept, tip_depth_mm, points.size(), old.n1_P[0],
                      [&old](std::size_t i, double) { return old.depth_mm[i]; });
}

RodLine line_along(const Guide& guide, const std::vector<Vec3>& points,
                   const std::vector<double>& depth_mm, double tip_depth_mm, int count) {
    const double spacing = (points[1] - points[0]).norm();
    const double last = static_cast<double>(points.size() - 1);
    return laid_along(guide, points, tip_depth_mm, static_cast<std::size_t>(count),
                      guide.place(guide.orifice_mm()).n1_P, [&](std::size_t, double s) {
                          const double beyond = std::max(s / spacing - last, 0.0) * spacing;
                          return between(depth_mm, s / spacing) + beyond;
                      });
}

}  // namespace anfract
