#include "anfract/geometry/straight_start.h"

#include <Eigen/Dense>
#include <algorithm>
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
        const bool within = std::all_of(
            points.begin(), points.begin() + static_cast<std::ptrdiff_t>(count),
            [&](const Vec3& point) { return line.across(point - shift).norm() <= tolerance_mm; });
        if (within) best = {count, line};
    }
    best.second.origin += shift;
    return best;
}

/// The points near the departure, seen from a line: x along it, y across it.
struct SeenFromLine {
    Eigen::VectorXd x;
    Eigen::MatrixX3d y;
};

SeenFromLine seen_from(const Line& line, const std::vector<Vec3>& points, std::size_t count) {
    SeenFromLine seen{Eigen::VectorXd(count), Eigen::MatrixX3d(count, 3)};
    for (std::size_t i = 0; i < count; ++i) {
        const auto row = static_cast<Eigen::Index>(i);
        seen.x[row] = line.along(points[i]);
        seen.y.row(row) = line.across(points[i]).transpose();
    }
    return seen;
}

/// y = c0 + c1 x + c2 b(x) with b = ((x - x0)^2 + |y|^2) / 2 beyond x0: coefficients and squared
/// error.
std::pair<Mat3, double> fit_departure(const SeenFromLine& seen, double x0) {
    Eigen::MatrixX3d design(seen.x.size(), 3);
    for (Eigen::Index i = 0; i < seen.x.size(); ++i) {
        const double beyond = seen.x[i] - x0;
        const double bend =
            beyond > 0 ? 0.5 * (beyond * beyond + seen.y.row(i).squaredNorm()) : 0.0;
        design.row(i) << 1.0, seen.x[i], bend;
    }
    const Mat3 normal = design.transpose() * design;
    const Mat3 coefficients =
        normal.completeOrthogonalDecomposition().solve(design.transpose() * seen.y);
    return {coefficients, (seen.y - design * coefficients).squaredNorm()};
}

/// The x0 of least error: the best of a grid, then golden section between its neighbours.
double best_departure(const SeenFromLine& seen) {
    constexpr double step_mm = 0.1;
    const double low = seen.x[0];
    const double high = seen.x[std::max<Eigen::Index>(0, seen.x.size() - 3)];
    const int steps = std::max(1, static_cast<int>(std::ceil((high - low) / step_mm)));
    const auto error = [&](double x0) { return fit_departure(seen, x0).second; };
    double best = low, least = std::numeric_limits<double>::infinity();
    for (int i = 0; i <= steps; ++i) {
        const double x0 = low + (high - low) * i / steps;
        if (const double here = error(x0); here < least) {
            least = here;
            best = x0;
        }
    }
    double a = std::max(low, best - step_mm), b = std::min(high, best + step_mm);
    const double golden = 0.5 * (std::sqrt(5.0) - 1.0);
    for (int i = 0; i < 30; ++i) {
        const double left = b - golden * (b - a), right = a + golden * (b - a);
        (error(left) < error(right) ? b : a) = error(left) < error(right) ? right : left;
    }
    return 0.5 * (a + b);
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

}  // namespace

StraightStart straight_start(const Polyline& chain, const StraightStartOptions& options) {
    const std::vector<Vec3>& points = chain.points();
    auto [count, line] = longest_straight(points, options.tolerance_mm);
    if (count == points.size()) {
        return {line.direction, points.back(), chain.length_mm(), true};
    }
    std::size_t seen_count = count;
    while (seen_count < points.size() &&
           (seen_count < 6 || line.across(points[seen_count]).norm() <= options.fit_to_mm)) {
        ++seen_count;
    }
    double x0 = 0;
    for (int round = 0; round < 6; ++round) {
        const SeenFromLine seen = seen_from(line, points, seen_count);
        x0 = best_departure(seen);
        const Mat3 fit = fit_departure(seen, x0).first;
        const Vec3 tilt = fit.row(1).transpose();
        // The line through the fitted straight part; its origin moves to the departure.
        line = {line.origin + fit.row(0).transpose() + x0 * (line.direction + tilt),
                (line.direction + tilt).normalized()};
        if (tilt.norm() < 1e-9) break;
    }
    const SeenFromLine seen = seen_from(line, points, seen_count);
    const double length_mm = arc_at(chain, seen, 0.0);
    return {line.direction, line.origin, length_mm, false};
}

double circumradius_mm(const Vec3& a, const Vec3& b, const Vec3& c) {
    const double twice_area = (b - a).cross(c - a).norm();
    const double sides = (b - a).norm() * (c - b).norm() * (a - c).norm();
    if (twice_area <= 1e-12 * sides) return std::numeric_limits<double>::infinity();
    return sides / (2.0 * twice_area);
}

}  // namespace anfract
