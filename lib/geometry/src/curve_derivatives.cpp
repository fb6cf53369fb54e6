#include "anfract/geometry/curve_derivatives.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace anfract {
namespace {

/// First to one-past-last index of the points the fit at point `i` uses.
std::pair<std::size_t, std::size_t> window_of(const std::vector<double>& arc_mm, std::size_t i,
                                              const CurveFit& fit) {
    const auto least = static_cast<std::size_t>(std::max(fit.least_neighbours, 1));
    std::size_t first = i;
    std::size_t last = i + 1;
    while (first > 0 &&
           (arc_mm[i] - arc_mm[first - 1] <= fit.half_window_mm || i - first < least)) {
        --first;
    }
    while (last < arc_mm.size() &&
           (arc_mm[last] - arc_mm[i] <= fit.half_window_mm || last - 1 - i < least)) {
        ++last;
    }
    // A cubic wants more than four points to smooth at all: near an end the other side lends them.
    const std::size_t wanted = std::min(arc_mm.size(), 2 * least + 1);
    while (last - first < wanted && first > 0) --first;
    while (last - first < wanted && last < arc_mm.size()) ++last;
    return {first, last};
}

double tricube(double u) {
    const double v = 1.0 - std::pow(std::min(std::abs(u), 1.0), 3);
    return v * v * v;
}

/// The coefficients of 1, s, s^2, s^3 about arc length 0, one row each; fewer points give a lower
/// degree.
Eigen::Matrix<double, 4, 3> local_cubic(const Polyline& chain, std::size_t i, const CurveFit& fit) {
    const auto& arc_mm = chain.arc_mm();
    const auto [first, last] = window_of(arc_mm, i, fit);
    const auto count = static_cast<Eigen::Index>(last - first);
    const Eigen::Index terms = std::min<Eigen::Index>(4, count);
    // A little beyond the farthest point, so that its weight is not zero.
    const double reach = 1.01 * std::max(arc_mm[i] - arc_mm[first], arc_mm[last - 1] - arc_mm[i]);

    Eigen::MatrixXd design(count, terms);
    Eigen::MatrixXd values(count, 3);
    for (Eigen::Index row = 0; row < count; ++row) {
        const std::size_t j = first + static_cast<std::size_t>(row);
        const double u =
            (arc_mm[j] - arc_mm[i]) / reach;  // scaled, for the sake of the condition number
        const double weight = std::sqrt(tricube(u) + 1e-6);
        double power = weight;
        for (Eigen::Index term = 0; term < terms; ++term, power *= u) design(row, term) = power;
        values.row(row) = weight * (chain.points()[j] - chain.points()[i]).transpose();
    }
    Eigen::Matrix<double, 4, 3> coefficients = Eigen::Matrix<double, 4, 3>::Zero();
    coefficients.topRows(terms) = design.colPivHouseholderQr().solve(values);
    double scale = 1.0;
    for (Eigen::Index term = 0; term < terms; ++term, scale /= reach)
        coefficients.row(term) *= scale;
    return coefficients;
}

}  // namespace

std::vector<CurvePoint> curve_derivatives(const Polyline& chain, const CurveFit& fit) {
    std::vector<CurvePoint> result;
    result.reserve(chain.points().size());
    for (std::size_t i = 0; i < chain.points().size(); ++i) {
        const auto cubic = local_cubic(chain, i, fit);
        const Vec3 first = cubic.row(1);
        const Vec3 second = 2.0 * cubic.row(2).transpose();
        const Vec3 third = 6.0 * cubic.row(3).transpose();
        CurvePoint point;
        point.tangent = first.normalized();
        point.curvature_per_mm =
            (second - second.dot(point.tangent) * point.tangent) / first.squaredNorm();
        const Vec3 binormal = first.cross(second);
        if (point.curvature() > fit.straight_per_mm) {
            point.torsion_per_mm = binormal.dot(third) / binormal.squaredNorm();
        }
        result.push_back(point);
    }
    return result;
}

double total_curvature_rad(const Polyline& chain, const std::vector<CurvePoint>& derivatives) {
    double total = 0.0;
    for (std::size_t i = 1; i < derivatives.size(); ++i) {
        const double step = chain.arc_mm()[i] - chain.arc_mm()[i - 1];
        total += 0.5 * step * (derivatives[i - 1].curvature() + derivatives[i].curvature());
    }
    return total;
}

}  // namespace anfract
