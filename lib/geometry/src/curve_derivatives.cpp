#include "anfract/geometry/curve_derivatives.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace anfract {
namespace {

/// First to one-past-last index of the points the fit at point `i` uses. With `lent`, what an end
/// of the chain cuts off on one side is added on the other.
std::pair<std::size_t, std::size_t> window_of(const std::vector<double>& arc_mm, std::size_t i,
                                              const CurveFit& fit, bool lent) {
    const auto least = static_cast<std::size_t>(std::max(fit.least_neighbours, 1));
    const double w = fit.half_window_mm;
    const double before_mm = w + (lent ? std::max(0.0, w - (arc_mm.back() - arc_mm[i])) : 0.0);
    const double after_mm = w + (lent ? std::max(0.0, w - (arc_mm[i] - arc_mm.front())) : 0.0);
    std::size_t first = i;
    std::size_t last = i + 1;
    while (first > 0 && (arc_mm[i] - arc_mm[first - 1] <= before_mm || i - first < least)) {
        --first;
    }
    while (last < arc_mm.size() && (arc_mm[last] - arc_mm[i] <= after_mm || last - 1 - i < least)) {
        ++last;
    }
    // A cubic wants more than four points to smooth at all: near an end the other side lends them.
    const std::size_t wanted = std::min(arc_mm.size(), 2 * least + 1);
    while (last - first < wanted && first > 0) --first;
    while (last - first < wanted && last < arc_mm.size()) ++last;
    return {first, last};
}

bool near_end(const std::vector<double>& arc_mm, std::size_t i, const CurveFit& fit) {
    const double end = std::min(arc_mm[i] - arc_mm.front(), arc_mm.back() - arc_mm[i]);
    return end < 0.5 * fit.half_window_mm;
}

double tricube(double u) {
    const double v = 1.0 - std::pow(std::min(std::abs(u), 1.0), 3);
    return v * v * v;
}

/// A cubic fitted about one point.
struct LocalCubic {
    Eigen::Matrix<double, 4, 3> coefficients =
        Eigen::Matrix<double, 4, 3>::Zero();  ///< of 1, s, s^2, s^3
    double scatter_mm2 =
        0;  ///< variance of a coordinate about the fit; 0 when nothing is left over
    double second_gain_per_mm2 = 0;  ///< standard deviation of r'' for points that scatter by 1 mm
};

/// The weighted design matrix and values of the fit about point `i`; fewer points give a lower
/// degree.
struct FitRows {
    Eigen::MatrixXd design, values;
    Eigen::VectorXd root_weight;
    double reach_mm = 0;
};

FitRows rows_about(const Polyline& chain, std::size_t i, const CurveFit& fit, int degree) {
    const auto& arc_mm = chain.arc_mm();
    const auto [first, last] = window_of(arc_mm, i, fit, degree < 3);
    const auto count = static_cast<Eigen::Index>(last - first);
    const Eigen::Index terms = std::min<Eigen::Index>(degree + 1, count);
    FitRows rows{Eigen::MatrixXd(count, terms), Eigen::MatrixXd(count, 3), Eigen::VectorXd(count)};
    // A little beyond the farthest point, so that its weight is not zero.
    rows.reach_mm = 1.01 * std::max(arc_mm[i] - arc_mm[first], arc_mm[last - 1] - arc_mm[i]);
    for (Eigen::Index row = 0; row < count; ++row) {
        const std::size_t j = first + static_cast<std::size_t>(row);
        // Scaled to about one, for the condition number.
        const double u = (arc_mm[j] - arc_mm[i]) / rows.reach_mm;
        const double weight = std::sqrt(tricube(u) + 1e-6);
        rows.root_weight[row] = weight;
        double power = weight;
        for (Eigen::Index term = 0; term < terms; ++term, power *= u)
            rows.design(row, term) = power;
        rows.values.row(row) = weight * (chain.points()[j] - chain.points()[i]).transpose();
    }
    return rows;
}

LocalCubic local_cubic(const Polyline& chain, std::size_t i, const CurveFit& fit, int degree = 3) {
    const FitRows rows = rows_about(chain, i, fit, degree);
    const Eigen::Index terms = rows.design.cols();
    const auto factors = rows.design.colPivHouseholderQr();
    LocalCubic cubic;
    cubic.coefficients.topRows(terms) = factors.solve(rows.values);
    const Eigen::MatrixXd left_over = rows.values - rows.design * cubic.coefficients.topRows(terms);
    double scale = 1.0;
    for (Eigen::Index term = 0; term < terms; ++term, scale /= rows.reach_mm) {
        cubic.coefficients.row(term) *= scale;
    }
    if (rows.design.rows() <= terms) return cubic;

    // Across the curve, E |left over|^2 = 2 sigma^2 (trace W - trace H W), H the projection on the
    // columns of the design. Along it nothing is left over: arc length is counted from the points.
    const Vec3 tangent = cubic.coefficients.row(1).transpose().normalized();
    const double across = left_over.squaredNorm() - (left_over * tangent).squaredNorm();
    const Eigen::VectorXd weight = rows.root_weight.array().square();
    // The design is Q R, one column for each term; of H = Q Q^T only the diagonal is needed.
    const Eigen::Index rank = factors.nonzeroPivots();
    const Eigen::MatrixXd orthonormal =
        factors.householderQ() * Eigen::MatrixXd::Identity(rows.design.rows(), rank);
    const double used = orthonormal.rowwise().squaredNorm().dot(weight);
    // How the points make the coefficient of second order.
    const Eigen::RowVectorXd second =
        factors.colsPermutation().toDenseMatrix().cast<double>().row(2).head(rank);
    const Eigen::VectorXd through_R = factors.matrixR()
                                          .topLeftCorner(rank, rank)
                                          .triangularView<Eigen::Upper>()
                                          .transpose()
                                          .solve(second.transpose());
    const double gain = (orthonormal * through_R).cwiseProduct(rows.root_weight).norm();
    cubic.scatter_mm2 = across / (2.0 * std::max(weight.sum() - used, 1e-9));
    cubic.second_gain_per_mm2 = 2.0 * gain / (rows.reach_mm * rows.reach_mm);
    return cubic;
}

double median(std::vector<double> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// `scatter_mm` of the points turns the gain of the fit into a standard deviation.
CurvePoint curve_point(const LocalCubic& cubic, double scatter_mm, const CurveFit& fit) {
    const Vec3 first = cubic.coefficients.row(1);
    const Vec3 second = 2.0 * cubic.coefficients.row(2).transpose();
    const Vec3 third = 6.0 * cubic.coefficients.row(3).transpose();
    CurvePoint point;
    point.tangent = first.normalized();
    point.curvature_per_mm =
        (second - second.dot(point.tangent) * point.tangent) / first.squaredNorm();
    const Vec3 binormal = first.cross(second);
    if (point.curvature() > fit.straight_per_mm) {
        point.torsion_per_mm = binormal.dot(third) / binormal.squaredNorm();
    }
    point.curvature_sd_per_mm = scatter_mm * cubic.second_gain_per_mm2 / first.squaredNorm();
    return point;
}

std::vector<LocalCubic> local_cubics(const Polyline& chain, const CurveFit& fit) {
    std::vector<LocalCubic> cubics;
    cubics.reserve(chain.points().size());
    for (std::size_t i = 0; i < chain.points().size(); ++i) {
        cubics.push_back(local_cubic(chain, i, fit));
    }
    return cubics;
}

/// One scatter for the whole chain: a kink that no cubic follows does not move the median.
double scatter_of(const std::vector<LocalCubic>& cubics) {
    std::vector<double> scatter_mm2;
    for (const LocalCubic& cubic : cubics) scatter_mm2.push_back(cubic.scatter_mm2);
    return scatter_mm2.empty() ? 0.0 : std::sqrt(median(std::move(scatter_mm2)));
}

}  // namespace

std::vector<CurvePoint> curve_derivatives(const Polyline& chain, const CurveFit& fit) {
    const std::vector<LocalCubic> cubics = local_cubics(chain, fit);
    const double scatter = scatter_of(cubics);
    std::vector<CurvePoint> result;
    result.reserve(cubics.size());
    for (std::size_t i = 0; i < cubics.size(); ++i) {
        CurvePoint point = curve_point(cubics[i], scatter, fit);
        // One-sided cubics make wild curvature of scatter; a quadratic, though biased, does not.
        if (near_end(chain.arc_mm(), i, fit) && point.curvature_sd_per_mm > fit.end_sd_per_mm) {
            point = curve_point(local_cubic(chain, i, fit, 2), scatter, fit);
        }
        result.push_back(point);
    }
    return result;
}

double scatter_mm(const Polyline& chain, const CurveFit& fit) {
    return scatter_of(local_cubics(chain, fit));
}

Polyline smoothed(const Polyline& chain, const CurveFit& fit) {
    std::vector<Vec3> points;
    points.reserve(chain.points().size());
    for (std::size_t i = 0; i < chain.points().size(); ++i) {
        const Vec3 shift = local_cubic(chain, i, fit).coefficients.row(0);
        points.push_back(chain.points()[i] + shift);
    }
    return Polyline(points);
}

double total_curvature_rad(const Polyline& chain, const std::vector<CurvePoint>& derivatives) {
    const auto true_curvature = [](const CurvePoint& point) {
        const double noise = 2.0 * point.curvature_sd_per_mm * point.curvature_sd_per_mm;
        return std::sqrt(std::max(0.0, point.curvature_per_mm.squaredNorm() - noise));
    };
    double total = 0.0;
    for (std::size_t i = 1; i < derivatives.size(); ++i) {
        const double step = chain.arc_mm()[i] - chain.arc_mm()[i - 1];
        total += 0.5 * step * (true_curvature(derivatives[i - 1]) + true_curvature(derivatives[i]));
    }
    return total;
}

}  // namespace anfract
