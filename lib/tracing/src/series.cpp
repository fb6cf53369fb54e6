#include "series.h"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract::tracing {
namespace {

/// Precision of the prior: of second differences.
Eigen::MatrixXd prior_precision(Eigen::Index n, double h, double length, double bend) {
    Eigen::MatrixXd precision = Eigen::MatrixXd::Zero(n, n);
    const double scale = std::pow(length / h, 4) * (h / length) / (bend * bend);
    for (Eigen::Index i = 1; i + 1 < n; ++i) {
        const Eigen::Vector3d difference(1, -2, 1);
        precision.block<3, 3>(i - 1, i - 1) += scale * difference * difference.transpose();
    }
    return precision;
}

/// Adds the prior of no slope beyond the last measurement.
void hold_end(const std::vector<double>& sd, double h, double length, double slope,
              Eigen::MatrixXd& precision) {
    const double weight = (h / length) / (slope * slope * h * h);
    for (auto i = static_cast<Eigen::Index>(sd.size()) - 1; i > 0; --i) {
        if (std::isfinite(sd[std::size_t(i)])) return;
        precision(i, i) += weight;
        precision(i - 1, i - 1) += weight;
        precision(i, i - 1) -= weight;
        precision(i - 1, i) -= weight;
    }
}

/// Integral of the integral of a Gaussian of that standard deviation.
double gaussian_ramp(double x, double sd) {
    const double z = x / sd;
    return x * 0.5 * std::erfc(-z / std::numbers::sqrt2) +
           sd * std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi);
}

/// Correlation of the noise of two slabs: their overlap, a triangle, blurred by the noise's own
/// autocorrelation.
double slab_correlation(double apart_mm, const SeriesNoise& noise) {
    const double s = std::max(noise.together_mm, 1e-6);
    const auto shared = [&](double u) {
        return gaussian_ramp(u + noise.slab_mm, s) - 2 * gaussian_ramp(u, s) +
               gaussian_ramp(u - noise.slab_mm, s);
    };
    return shared(apart_mm) / shared(0);
}

Eigen::MatrixXd measured_covariance(const SeriesNoise& noise, double h) {
    const auto n = static_cast<Eigen::Index>(noise.own_sd.size());
    Eigen::MatrixXd covariance(n, n);
    for (Eigen::Index i = 0; i < n; ++i) {
        for (Eigen::Index j = 0; j < n; ++j) {
            covariance(i, j) = slab_correlation(h * double(std::abs(i - j)), noise) *
                               noise.slab_sd[std::size_t(i)] * noise.slab_sd[std::size_t(j)];
        }
        covariance(i, i) += noise.own_sd[std::size_t(i)] * noise.own_sd[std::size_t(i)];
    }
    return covariance;
}

/// By how much less values with a slab stray from the smooth series than their noise says; at
/// most 1.
double quietness(const SeriesNoise& noise, const Eigen::VectorXd& noisy) {
    double left = 0, expected = 0;
    for (Eigen::Index i = 0; i < noisy.size(); ++i) {
        if (noise.slab_sd[std::size_t(i)] <= 0) continue;
        left += noise.left_over[std::size_t(i)];
        expected += noisy[i];
    }
    return left > 0 && left < expected ? left / expected : 1.0;
}

/// How rough the curve is at each place, in terms of the prior: from what is left over beyond noise
/// within about a millimetre, and where nothing is measured from how it bends nearby.
Eigen::VectorXd roughness(const SeriesNoise& noise, const Eigen::VectorXd& noisy,
                          const Eigen::VectorXd& prior_variance, double h, double bend) {
    constexpr double near_mm = 1.0, beside_mm = 1.5;
    const Eigen::Index n = noisy.size();
    Eigen::VectorXd result(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        double excess = 0, expected = 0, curvature = 0;
        for (Eigen::Index j = 0; j < n; ++j) {
            const auto at = std::size_t(j);
            const double apart_mm = h * double(std::abs(i - j));
            if (apart_mm <= beside_mm) curvature = std::max(curvature, noise.curvature_per_mm[at]);
            if (noise.slab_sd[at] <= 0) continue;
            const double weight = std::exp(-apart_mm * apart_mm / (2 * near_mm * near_mm));
            excess += weight * (noise.left_over[at] - noisy[j]);
            expected += weight * prior_variance[j];
        }
        result[i] = std::max(expected > 0 ? excess / expected : 0.0, 0.0);
        if (noise.slab_sd[std::size_t(i)] <= 0)
            result[i] = std::max(result[i], curvature * curvature / (bend * bend));
    }
    return result;
}

double half_correlation_mm(const Eigen::MatrixXd& covariance, const SeriesNoise& noise, double h) {
    std::vector<double> lengths;
    const Eigen::Index n = covariance.rows();
    for (Eigen::Index i = 0; i < n; ++i) {
        if (noise.slab_sd[std::size_t(i)] <= 0) continue;
        double before = 1;
        for (Eigen::Index j = i + 1; j < n; ++j) {
            const double here = covariance(i, j) / std::sqrt(covariance(i, i) * covariance(j, j));
            if (here > 0.5) {
                before = here;
                continue;
            }
            const double apart_mm = h * (double(j - i) - (0.5 - here) / (before - here));
            lengths.push_back(apart_mm / std::sqrt(2 * std::numbers::ln2));
            break;
        }
    }
    if (lengths.empty()) return 0;
    const auto middle = lengths.begin() + std::ptrdiff_t(lengths.size() / 2);
    std::nth_element(lengths.begin(), middle, lengths.end());
    return *middle;
}

}  // namespace

Series smooth_series(const std::vector<double>& y, const std::vector<double>& sd, double h,
                     double length, double bend, double end_slope) {
    const auto n = static_cast<Eigen::Index>(y.size());
    Eigen::MatrixXd precision = prior_precision(n, h, length, bend);
    if (end_slope > 0) hold_end(sd, h, length, end_slope, precision);
    Eigen::VectorXd right = Eigen::VectorXd::Zero(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const double weight = 1 / (sd[std::size_t(i)] * sd[std::size_t(i)]);
        precision(i, i) += weight;
        right[i] = weight > 0 ? weight * y[std::size_t(i)] : 0;
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

SeriesError series_error(const std::vector<double>& sd, const SeriesNoise& noise, double h,
                         double length, double bend) {
    const auto n = static_cast<Eigen::Index>(sd.size());
    const Eigen::MatrixXd prior = prior_precision(n, h, length, bend);
    Eigen::VectorXd weight(n);
    for (Eigen::Index i = 0; i < n; ++i) weight[i] = std::pow(sd[std::size_t(i)], -2);
    Eigen::MatrixXd precision = prior;
    precision.diagonal() += weight;
    const Eigen::MatrixXd posterior =
        Eigen::LDLT<Eigen::MatrixXd>(precision).solve(Eigen::MatrixXd::Identity(n, n));
    const Eigen::MatrixXd measured = measured_covariance(noise, h);
    const Eigen::MatrixXd rough = posterior * prior * posterior;
    const Eigen::MatrixXd gain = posterior * weight.asDiagonal();
    const Eigen::MatrixXd rest = Eigen::MatrixXd::Identity(n, n) - gain;
    const Eigen::VectorXd noisy = (rest * measured * rest.transpose()).diagonal();
    const Eigen::VectorXd rougher = roughness(noise, noisy, rough.diagonal(), h, bend);
    const Eigen::VectorXd root = rougher.array().sqrt();
    const Eigen::MatrixXd covariance =
        quietness(noise, noisy) * gain * measured * gain.transpose() +
        root.asDiagonal() * rough * root.asDiagonal();
    SeriesError error;
    for (Eigen::Index i = 0; i < n; ++i)
        error.sd.push_back(std::sqrt(std::max(covariance(i, i), 0.0)));
    error.correlation_mm = half_correlation_mm(covariance, noise, h);
    return error;
}

}  // namespace anfract::tracing
