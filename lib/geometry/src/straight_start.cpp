#include "anfract/geometry/straight_start.h"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/tools/minima.hpp>
#include <cmath>
#include <limits>

namespace anfract {
namespace {

struct Line {
    Vec3 origin, direction;

    double along(const Vec3& point) const { return (point - origin).dot(direction); }
    Vec3 across(const Vec3& point) const { return point - origin - along(point) * direction; }
};

/// Least-squares lines through growing initial parts, from running sums.
class GrowingLine {
  public:
    void add(const Vec3& point) {
        ++count_;
        sum_ += point;
        products_ += point * point.transpose();
        last_ = point;
        if (count_ == 1) first_ = point;
    }
    Line line() const {
        const Vec3 mean = sum_ / count_;
        const Mat3 scatter = products_ / count_ - mean * mean.transpose();
        Vec3 direction = Eigen::SelfAdjointEigenSolver<Mat3>(scatter).eigenvectors().col(2);
        if (direction.dot(last_ - first_) < 0) direction = -direction;
        return {mean, direction};
    }

  private:
    double count_ = 0;
    Vec3 sum_ = Vec3::Zero(), first_ = Vec3::Zero(), last_ = Vec3::Zero();
    Mat3 products_ = Mat3::Zero();
};

/// Number of points in the longest initial part within `tolerance_mm` of its line, and that line.
std::pair<std::size_t, Line> longest_straight(const std::vector<Vec3>& points,
                                              double tolerance_mm) {
    const Vec3 shift = points.front();  // keeps the running sums free of cancellation
    GrowingLine growing;
    growing.add(Vec3::Zero());
    growing.add(points[1] - shift);
    std::pair<std::size_t, Line> best{2, growing.line()};
    for (std::size_t count = 3; count <= points.size(); ++count) {
        growing.add(points[count - 1] - shift);
        const Line line = growing.line();
        std::size_t outside = 0;
        bool far = false;
        for (std::size_t i = 0; i < count; ++i) {
            const double distance = line.across(points[i] - shift).norm();
            outside += distance > tolerance_mm ? 1 : 0;
            far = far || distance > 2.0 * tolerance_mm;
        }
        // A few points may stray, or one bad point would end the straight part early.
        const bool within = !far && 20 * outside <= count;
        if (within) best = {count, line};
    }
    best.second.origin += shift;
    return best;
}

/// The points near the departure, seen from a line: x along it, y across it.
struct SeenFromLine {
    Eigen::VectorXd x;
    Eigen::MatrixX3d y;
    Eigen::VectorXd y_squared;
};

SeenFromLine seen_from(const Line& line, const std::vector<Vec3>& points, std::size_t count) {
    SeenFromLine seen{Eigen::VectorXd(count), Eigen::MatrixX3d(count, 3), {}};
    for (std::size_t i = 0; i < count; ++i) {
        const auto row = static_cast<Eigen::Index>(i);
        seen.x[row] = line.along(points[i]);
        seen.y.row(row) = line.across(points[i]).transpose();
    }
    seen.y_squared = seen.y.rowwise().squaredNorm();
    return seen;
}

/// y = c0 + c1 x + c2 b(x) with b = ((x - x0)^2 + |y|^2) / 2 beyond x0.
struct Fit {
    Mat3 coefficients;
    double squared_error = std::numeric_limits<double>::infinity();
};

Fit fit_departure(const SeenFromLine& seen, double x0) {
    const auto terms = [&](Eigen::Index i) {
        const double beyond = std::max(0.0, seen.x[i] - x0);
        const double bend = beyond > 0 ? 0.5 * (beyond * beyond + seen.y_squared[i]) : 0.0;
        return Vec3(1.0, seen.x[i], bend);
    };
    Mat3 normal = Mat3::Identity() * 1e-12;  // keeps a departure without points beyond it solvable
    Mat3 right = Mat3::Zero();
    for (Eigen::Index i = 0; i < seen.x.size(); ++i) {
        normal += terms(i) * terms(i).transpose();
        right += terms(i) * seen.y.row(i);
    }
    Fit fit{normal.ldlt().solve(right), 0.0};
    for (Eigen::Index i = 0; i < seen.x.size(); ++i) {
        fit.squared_error +=
            (seen.y.row(i) - terms(i).transpose() * fit.coefficients).squaredNorm();
    }
    return fit;
}

/// The x0 of least error: the best of a grid, then Brent's method between its neighbours.
double best_departure(const SeenFromLine& seen) {
    constexpr double step_mm = 0.15;
    constexpr int bits = 24;
    const double low = seen.x[0];
    const double high = seen.x[std::max<Eigen::Index>(0, seen.x.size() - 3)];
    const auto error = [&](double x0) { return fit_departure(seen, x0).squared_error; };
    const int steps = std::max(1, static_cast<int>(std::ceil((high - low) / step_mm)));
    double best = low, least = std::numeric_limits<double>::infinity();
    for (int i = 0; i <= steps; ++i) {
        const double x0 = low + (high - low) * i / steps;
        if (const double here = error(x0); here < least) {
            least = here;
            best = x0;
        }
    }
    const auto [refined, refined_error] = boost::math::tools::brent_find_minima(
        error, std::max(low, best - step_mm), std::min(high, best + step_mm), bits);
    return refined_error < least ? refined : best;
}

/// Arc length at which the chain has come to `x` along the line.
double arc_at(const Polyline& chain, const SeenFromLine& seen, double x) {
    for (Eigen::Index i = 1; i < seen.x.size(); ++i) {
        if (seen.x[i] < x) continue;
        const auto k = static_cast<std::size_t>(i);
        const double step = seen.x[i] - seen.x[i - 1];
        const double t = step > 0 ? std::clamp((x - seen.x[i - 1]) / step, 0.0, 1.0) : 0.0;
        return chain.arc_mm()[k - 1] + t * (chain.arc_mm()[k] - chain.arc_mm()[k - 1]);
    }
    return chain.length_mm();
}

/// A departure and how well it fits.
struct Fitted {
    StraightStart start;
    double residual_mm = 0;  ///< root mean square distance of the points from the fit
};

Fitted fitted_start(const Polyline& chain, const StraightStartOptions& options) {
    constexpr int most_rounds = 10;
    const std::vector<Vec3>& points = chain.points();
    auto [count, line] = longest_straight(points, options.tolerance_mm);
    if (count == points.size()) {
        return {{line.direction, points.back(), chain.length_mm(), true}};
    }
    while (count < points.size() &&
           (count < 6 || line.across(points[count]).norm() <= options.fit_to_mm)) {
        ++count;
    }
    double residual_mm = 0;
    for (int round = 0; round < most_rounds; ++round) {
        const SeenFromLine seen = seen_from(line, points, count);
        const double x0 = best_departure(seen);
        const Fit fit = fit_departure(seen, x0);
        const Vec3 tilt = fit.coefficients.row(1).transpose();
        const Vec3 along = line.direction + tilt;
        // The line through the fitted straight part; its origin moves to the departure.
        line = {line.origin + fit.coefficients.row(0).transpose() + x0 * along, along.normalized()};
        residual_mm = std::sqrt(fit.squared_error / static_cast<double>(count));
        if (tilt.norm() < 1e-7) break;
    }
    const double length_mm = arc_at(chain, seen_from(line, points, count), 0.0);
    return {{line.direction, line.origin, length_mm, false}, residual_mm};
}

}  // namespace

StraightStart straight_start(const Polyline& chain, const StraightStartOptions& options) {
    // A bend that is over within the reach moves the departure a little and leaves an error that is
    // gone at a smaller width. Waves in the points may be fitted away as well, but far from there.
    constexpr double hardly_any = 0.125, negligible_mm = 1e-4, nearby_mm = 0.75;
    const Fitted wide = fitted_start(chain, options);
    if (wide.start.whole || wide.residual_mm < negligible_mm) return wide.start;
    for (double width : {0.5, 0.25}) {
        const Fitted narrow = fitted_start(chain, {.tolerance_mm = width * options.tolerance_mm,
                                                   .fit_to_mm = width * options.fit_to_mm});
        const double moved_mm = std::abs(narrow.start.length_mm - wide.start.length_mm);
        if (narrow.residual_mm < hardly_any * wide.residual_mm && moved_mm < nearby_mm) {
            return narrow.start;
        }
    }
    return wide.start;
}

double circumradius_mm(const Vec3& a, const Vec3& b, const Vec3& c) {
    const double twice_area = (b - a).cross(c - a).norm();
    const double sides = (b - a).norm() * (c - b).norm() * (a - c).norm();
    if (twice_area <= 1e-12 * sides) return std::numeric_limits<double>::infinity();
    return sides / (2.0 * twice_area);
}

}  // namespace anfract
