#include "series.h"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <cmath>

namespace anfract::tracing {

Series smooth_series(const std::vector<double>& y, const std::vector<double>& sd, double h,
                     double length, double bend) {
    const auto n = static_cast<Eigen::Index>(y.size());
    Eigen::MatrixXd precision = Eigen::MatrixXd::Zero(n, n);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const double weight = 1 / (sd[std::size_t(i)] * sd[std::size_t(i)]);
        precision(i, i) = weight;
        right[i] = weight > 0 ? weight * y[std::size_t(i)] : 0;
    }
    const double scale = std::pow(length / h, 4) * (h / length) / (bend * bend);
    for (Eigen::Index i = 1; i + 1 < n; ++i) {
        const Eigen::Vector3d difference(1, -2, 1);
        precision.block<3, 3>(i - 1, i - 1) += scale * difference * difference.transpose();
    }
    // Keeps the matrix regular where nothing was measured.
    precision.diagonal().array() += 1e-9 * (1 + precision.diagonal().maxCoeff());
    const Eigen::LDLT<Eigen::MatrixXd> factor(precision);
    const Eigen::VectorXd x = factor.solve(right);
    const Eigen::MatrixXd covariance = factor.solve(Eigen::MatrixXd::Identity(n, n));
    Series result;
    for (Eigen::Index i = 0; i < n; ++i) {
        result.value.push_back(x[i]);
        result.sd.push_back(std::sqrt(std::max(0.0, covariance(i, i))));
    }
    return result;
}

}  // namespace anfract::tracing
