#include "anfract/passage/lumen.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>
#include <numbers>
#include <unsupported/Eigen/Splines>

#include "anfract/geometry/moving_frame.h"
#include "anfract/geometry/polyline.h"
#include "anfract/tooth/section_direction.h"

namespace anfract {
namespace {

using CubicSpline = Eigen::Spline<double, 3>;
constexpr double least_knot_distance_mm = 0.1;

/// The points a curve goes through. Nearer to each other than the stations they would only carry
/// rounding into the curvature.
std::vector<Vec3> knots_of(const Canal& canal) {
    std::vector<Vec3> knots{canal.samples.front().point_P};
    for (const CanalSample& sample : canal.samples) {
        if ((sample.point_P - knots.back()).norm() >= least_knot_distance_mm) {
            knots.push_back(sample.point_P);
        }
    }
    const Vec3 last = canal.samples.back().point_P;
    if (knots.size() > 1 && (last - knots.back()).norm() < least_knot_distance_mm) {
        knots.back() = last;
    }
    return knots;
}

/// A twice continuously differentiable curve through the samples, read by arc length.
class CanalCurve {
  public:
    /// Through two knots at least.
    explicit CanalCurve(const std::vector<Vec3>& knots) {
        fit(knots);
        measure();
    }

    double length_mm() const { return arc_mm_.back(); }

    /// Point and unit tangent at arc length `s_mm`.
    std::pair<Vec3, Vec3> at(double s_mm) const {
        const auto above = std::upper_bound(arc_mm_.begin(), arc_mm_.end(), s_mm);
        const std::size_t i =
            std::clamp<std::ptrdiff_t>(above - arc_mm_.begin(), 1, arc_mm_.size() - 1);
        const double t = (s_mm - arc_mm_[i - 1]) / (arc_mm_[i] - arc_mm_[i - 1]);
        const double v = std::clamp(
            (static_cast<double>(i) - 1 + t) / static_cast<double>(arc_mm_.size() - 1), 0.0, 1.0);
        const auto derivatives = spline_.derivatives(v, 1);
        return {derivatives.col(0), derivatives.col(1).matrix().normalized()};
    }

  private:
    void fit(const std::vector<Vec3>& knots) {
        Eigen::Matrix3Xd points(3, knots.size());
        for (std::size_t i = 0; i < knots.size(); ++i) points.col(i) = knots[i];
        const auto degree = std::min<Eigen::DenseIndex>(3, points.cols() - 1);
        Eigen::RowVectorXd parameters;
        Eigen::ChordLengths(points, parameters);
        spline_ = Eigen::SplineFitting<CubicSpline>::Interpolate(points, degree, parameters);
    }

    /// Table of arc length at even steps of the spline's parameter.
    void measure() {
        constexpr int steps = 4000;
        arc_mm_.assign(1, 0.0);
        Vec3 last = spline_(0.0);
        for (int i = 1; i <= steps; ++i) {
            const Vec3 next = spline_(static_cast<double>(i) / steps);
            arc_mm_.push_back(arc_mm_.back() + (next - last).norm());
            last = next;
        }
    }

    CubicSpline spline_;
    std::vector<double> arc_mm_;
};

/// An ellipse about the centreline as the three numbers that may be interpolated without jumps: its
/// mean radius and the half difference of its radii times (cos, sin) of twice the angle of the long
/// axis.
struct SectionShape {
    double mean_mm = 0;
    Vec2 stretch_mm{0, 0};

    double radius_mm(double theta) const {
        const double stretch = stretch_mm.norm();
        const double a = mean_mm + stretch, b = mean_mm - stretch;
        const double phi = theta - std::atan2(stretch_mm.y(), stretch_mm.x()) / 2;
        return a * b / std::hypot(b * std::cos(phi), a * std::sin(phi));
    }
};

double angle_in(const MovingFrame& frame, const Vec3& direction) {
    return std::atan2(direction.dot(frame.n2), direction.dot(frame.n1));
}

SectionShape shape_of(const CanalSample& sample, const MovingFrame& frame) {
    const double long_mm =
        sample.diameter_long_mm > 0 ? sample.diameter_long_mm : sample.diameter_mm;
    const double short_mm =
        sample.diameter_short_mm > 0 ? sample.diameter_short_mm : sample.diameter_mm;
    const double angle = sample.long_axis_deg * std::numbers::pi / 180 +
                         angle_in(frame, section_zero_P(frame.tangent));
    return {(long_mm + short_mm) / 4,
            (long_mm - short_mm) / 4 * Vec2(std::cos(2 * angle), std::sin(2 * angle))};
}

/// Walls of sample `k` in direction theta, counted in `frame`; NaN where not known.
double wall_mm(const Canal& canal, std::size_t k, const MovingFrame& frame, int j,
               int theta_count) {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    const double turn = 2 * std::numbers::pi;
    const double theta = turn * j / theta_count;
    if (canal.wall_sheet) {
        const WallSheet& sheet = *canal.wall_sheet;
        double place =
            (theta - angle_in(frame, sheet.first_direction[k])) / turn * sheet.theta_count;
        place -= std::floor(place / sheet.theta_count) * sheet.theta_count;
        const int low = static_cast<int>(place) % sheet.theta_count;
        const double t = place - std::floor(place);
        return (1 - t) * sheet.wall_mm[k][low] +
               t * sheet.wall_mm[k][(low + 1) % sheet.theta_count];
    }
    const CanalSample& sample = canal.samples[k];
    if (!sample.wall_min_mm || sample.wall_min_toward.norm() < 0.5) return nan;
    // Only the thinnest place was measured: it stands in its own direction and nowhere else.
    const double away = std::remainder(theta - angle_in(frame, sample.wall_min_toward), turn);
    return std::abs(away) <= turn / theta_count / 2 ? *sample.wall_min_mm : nan;
}

/// Frames at the stations, the first n1 toward the patient's x axis as far as that goes.
void lay_stations(const CanalCurve& curve, double spacing_mm, Lumen& lumen) {
    const int count = std::max(2, static_cast<int>(std::ceil(curve.length_mm() / spacing_mm)) + 1);
    for (int i = 0; i < count; ++i) {
        const double s = curve.length_mm() * i / (count - 1);
        const auto [point, tangent] = curve.at(s);
        lumen.depth_mm.push_back(lumen.reference_to_orifice_mm + s);
        lumen.point_P.push_back(point);
        lumen.tangent_P.push_back(tangent);
    }
    const auto frames = rotation_minimising_frames(lumen.point_P, lumen.tangent_P,
                                                   section_zero_P(lumen.tangent_P.front()));
    for (const MovingFrame& frame : frames) {
        lumen.n1_P.push_back(frame.n1);
        lumen.n2_P.push_back(frame.n2);
    }
}

struct SampleSections {
    std::vector<double> s_mm;  ///< along the curve
    std::vector<SectionShape> shape;
    std::vector<std::vector<double>> wall_mm;  ///< [sample][theta]
};

/// The sections of the samples in the frames of the stations nearest to them.
SampleSections sections_of(const Canal& canal, const Lumen& lumen, int theta_count) {
    SampleSections sections;
    const double first = canal.samples.front().depth_mm;
    const double scale =
        (lumen.depth_mm.back() - lumen.depth_mm.front()) / (canal.samples.back().depth_mm - first);
    for (std::size_t k = 0; k < canal.samples.size(); ++k) {
        const double s = (canal.samples[k].depth_mm - first) * scale;
        const int i = std::clamp(static_cast<int>(std::lround(s / lumen.spacing_mm())), 0,
                                 lumen.station_count() - 1);
        const MovingFrame frame{lumen.n1_P[i], lumen.n2_P[i], lumen.tangent_P[i]};
        sections.s_mm.push_back(s);
        sections.shape.push_back(shape_of(canal.samples[k], frame));
        std::vector<double> walls(theta_count);
        for (int j = 0; j < theta_count; ++j) walls[j] = wall_mm(canal, k, frame, j, theta_count);
        sections.wall_mm.push_back(std::move(walls));
    }
    return sections;
}

void fill_sheets(const SampleSections& sections, int theta_count, Lumen& lumen) {
    lumen.radius_mm.resize(lumen.station_count(), theta_count);
    lumen.wall_mm.resize(lumen.station_count(), theta_count);
    std::size_t k = 0;
    for (int i = 0; i < lumen.station_count(); ++i) {
        const double s = lumen.depth_mm[i] - lumen.depth_mm.front();
        while (k + 2 < sections.s_mm.size() && sections.s_mm[k + 1] < s) ++k;
        const double t = std::clamp(
            (s - sections.s_mm[k]) / (sections.s_mm[k + 1] - sections.s_mm[k]), 0.0, 1.0);
        const SectionShape shape{
            (1 - t) * sections.shape[k].mean_mm + t * sections.shape[k + 1].mean_mm,
            (1 - t) * sections.shape[k].stretch_mm + t * sections.shape[k + 1].stretch_mm};
        for (int j = 0; j < theta_count; ++j) {
            lumen.radius_mm(i, j) = shape.radius_mm(2 * std::numbers::pi * j / theta_count);
            const double low = sections.wall_mm[k][j], high = sections.wall_mm[k + 1][j];
            lumen.wall_mm(i, j) = std::isnan(low)    ? high
                                  : std::isnan(high) ? low
                                                     : (1 - t) * low + t * high;
        }
    }
}

}  // namespace

Result<Lumen> lumen_of(const Canal& canal, double spacing_mm, int theta_count) {
    const std::string where = "canal " + canal.name;
    if (canal.samples.size() < 2) {
        return fail(ErrorCode::BadInput, "it has fewer than two samples", where,
                    "trace it again or give its centreline");
    }
    if (!(spacing_mm > 0) || theta_count < 8) {
        return fail(ErrorCode::BadInput,
                    "stations need a spacing above 0 and at least 8 directions", where);
    }
    double length = 0;
    for (std::size_t k = 1; k < canal.samples.size(); ++k) {
        const double step = (canal.samples[k].point_P - canal.samples[k - 1].point_P).norm();
        if (!std::isfinite(step) || canal.samples[k].depth_mm <= canal.samples[k - 1].depth_mm) {
            return fail(ErrorCode::BadInput, "its depths do not rise or its points are not finite",
                        where);
        }
        length += step;
    }
    const std::vector<Vec3> knots = knots_of(canal);
    if (length < 2 * least_knot_distance_mm || knots.size() < 2) {
        return fail(ErrorCode::BadInput, "it has no length", where, "give its orifice and foramen");
    }
    Lumen lumen;
    lumen.canal = canal.name;
    lumen.reference_to_orifice_mm = canal.samples.front().depth_mm;
    lay_stations(CanalCurve(knots), spacing_mm, lumen);
    fill_sheets(sections_of(canal, lumen, theta_count), theta_count, lumen);
    return lumen;
}

Result<void> check_lumen(const Lumen& lumen) {
    constexpr double least_radius_mm = 1e-4;
    const std::string where = "canal " + lumen.canal;
    if (lumen.station_count() < 2 || lumen.theta_count() < 3 || !(lumen.spacing_mm() > 0)) {
        return fail(ErrorCode::BadInput, "the canal has no extent", where, "trace it again");
    }
    for (int i = 0; i < lumen.station_count(); ++i) {
        if (!(lumen.radius_mm.row(i) > least_radius_mm).all()) {
            char depth[24];
            std::snprintf(depth, sizeof depth, "%.1f mm", lumen.depth_mm[std::size_t(i)]);
            return fail(ErrorCode::BadInput, std::string("the canal has no width at ") + depth,
                        where, "trace it again or give its width");
        }
    }
    return {};
}

}  // namespace anfract
