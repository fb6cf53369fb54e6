#include "anfract/scan/noise.h"

#include <Eigen/Cholesky>
#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "smoothing.h"

namespace anfract {
namespace {

constexpr int lags = 4;  // voxels

/// Standard deviation of a Gaussian from the median absolute deviation [Rousseeuw1993].
double robust_sd(std::vector<float>& values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    const float median = *middle;
    for (float& v : values) v = std::abs(v - median);
    std::nth_element(values.begin(), middle, values.end());
    return 1.4826 * *middle;
}

using Voxel = std::array<int, 3>;

/// Voxels that are brighter than `bright`, as are those at the largest lag along each axis.
std::vector<Voxel> inner_voxels(const GridGeometry& g, const std::vector<float>& smooth,
                                double bright) {
    const auto axes = std::array<std::size_t, 3>{1, std::size_t(g.size[0]),
                                                 std::size_t(g.size[0]) * std::size_t(g.size[1])};
    const int step = std::max(1, int(g.voxel_count() / 4000000));
    std::vector<Voxel> voxels;
    for (int k = lags; k < g.size[2] - lags; ++k) {
        for (int j = lags; j < g.size[1] - lags; ++j) {
            for (int i = lags; i < g.size[0] - lags; i += step) {
                const std::size_t at = g.index(i, j, k);
                bool inside = smooth[at] > bright;
                for (std::size_t a = 0; a < 3 && inside; ++a) {
                    inside = smooth[at - lags * axes[a]] > bright &&
                             smooth[at + lags * axes[a]] > bright;
                }
                if (inside) voxels.push_back({i, j, k});
            }
        }
    }
    return voxels;
}

/// Bright voxels away from edges: tooth and bone, or tooth alone when the two stand apart, since
/// the fine structure of bone would pass for noise.
std::vector<Voxel> bright_voxels(const GridGeometry& g, const std::vector<float>& smooth) {
    // Halfway between the threshold and the bright class: away from the blurred edge.
    const auto level = [](const TwoClasses& c) { return 0.5 * (c.threshold + c.high_mean); };
    std::vector<Voxel> voxels = inner_voxels(g, smooth, level(otsu(smooth)));
    std::vector<float> values;
    for (const auto& [i, j, k] : voxels) values.push_back(smooth[g.index(i, j, k)]);
    const TwoClasses parts = otsu(values);
    // One Gaussian split at its middle has a separation of 2 / pi = 0.64.
    constexpr double clearly_two = 0.67;
    if (parts.separation > clearly_two) {
        std::vector<Voxel> brightest = inner_voxels(g, smooth, level(parts));
        if (brightest.size() > 2000) voxels = std::move(brightest);
    }
    return voxels;
}

/// The quarter of the bright voxels where the smoothed grey is flattest.
///
/// The gradient is odd about the voxel and the second difference even, so choosing flat places does
/// not by itself choose quiet ones.
std::vector<Voxel> homogeneous_voxels(const Brick& brick, unsigned threads) {
    const GridGeometry& g = brick.geometry;
    const std::vector<float> smooth = gaussian_smoothed(brick, 1.5, threads);
    std::vector<Voxel> voxels = bright_voxels(g, smooth);
    if (voxels.empty()) return voxels;
    std::vector<double> slopes;
    for (const auto& [i, j, k] : voxels)
        slopes.push_back(gradient_at(g, smooth, i, j, k).squaredNorm());
    std::vector<double> sorted = slopes;
    const auto quarter = sorted.begin() + std::ptrdiff_t(sorted.size() / 4);
    std::nth_element(sorted.begin(), quarter, sorted.end());
    std::size_t kept = 0;
    for (std::size_t v = 0; v < voxels.size(); ++v) {
        if (slopes[v] <= *quarter) voxels[kept++] = voxels[v];
    }
    voxels.resize(kept);
    return voxels;
}

/// Variance of second differences over the noise variance, when smoothing by `s` voxels made the
/// noise.
double expected_ratio(double s, int lag) {
    const double rho = s > 0 ? std::exp(-lag * lag / (4 * s * s)) : 0.0;
    return 6 - 8 * rho + 2 * std::pow(rho, 4);
}

/// Noise variance and width of its correlation (in voxels, as correlation_mm) that explain the
/// variances of the second differences. What structure there is adds its curvature, which grows
/// with the fourth power of the lag: a share of it is fitted along, so that it is not taken for
/// noise.
Noise fit_noise(const std::array<double, lags>& variance) {
    Noise best;
    double best_misfit = 1e300;
    // The width is found on a fine grid, since the misfit may have a flat stretch near zero.
    for (double s = 0; s <= 2.5; s += 0.02) {
        // Least squares of relative misfits in the two linear unknowns, neither below zero.
        Eigen::Matrix<double, lags, 2> model;
        for (int lag = 1; lag <= lags; ++lag) {
            const double v = variance[std::size_t(lag - 1)];
            if (!(v > 0)) return best;
            model.row(lag - 1) << expected_ratio(s, lag) / v, std::pow(lag, 4) / v;
        }
        const Eigen::Matrix<double, lags, 1> ones = Eigen::Matrix<double, lags, 1>::Ones();
        const Eigen::Matrix2d normal = model.transpose() * model;
        const Eigen::Vector2d right = model.transpose() * ones;
        Eigen::Vector2d x = normal.ldlt().solve(right);
        if (!(x[1] >= 0)) x = Eigen::Vector2d(right[0] / normal(0, 0), 0);
        if (!(x[0] > 0)) continue;
        const double misfit = (model * x - ones).squaredNorm();
        if (misfit < best_misfit) {
            best_misfit = misfit;
            best.sd_grey = std::sqrt(x[0]);
            best.correlation_mm = s;
        }
    }
    return best;
}

}  // namespace

Result<Noise> estimate_noise(const Brick& brick, unsigned threads) {
    const GridGeometry& g = brick.geometry;
    const std::vector<Voxel> voxels = homogeneous_voxels(brick, threads);
    if (voxels.size() * 3 < 500) {
        return fail(ErrorCode::NotConverged,
                    "too little homogeneous bright tissue to measure the noise", "scan",
                    "choose a region that holds dentine");
    }
    std::array<double, lags> variance{};
    std::vector<float> differences;
    for (int lag = 1; lag <= lags; ++lag) {
        differences.clear();
        for (const auto& [i, j, k] : voxels) {
            const float twice = 2 * brick.at(i, j, k);
            differences.push_back(brick.at(i - lag, j, k) - twice + brick.at(i + lag, j, k));
            differences.push_back(brick.at(i, j - lag, k) - twice + brick.at(i, j + lag, k));
            differences.push_back(brick.at(i, j, k - lag) - twice + brick.at(i, j, k + lag));
        }
        const double sd = robust_sd(differences);
        variance[std::size_t(lag - 1)] = sd * sd;
    }
    Noise best = fit_noise(variance);
    best.correlation_mm *= std::cbrt(g.spacing_mm.prod());
    best.samples = voxels.size() * 3;
    return best;
}

}  // namespace anfract
