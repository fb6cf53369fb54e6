#include "field.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/scan/convolve.h"

namespace anfract::tracing {
namespace {

std::vector<float> gaussian_weights(double sigma_voxels) {
    const int reach = std::max(1, static_cast<int>(std::ceil(3.5 * sigma_voxels)));
    std::vector<float> weights(std::size_t(2 * reach + 1));
    double sum = 0;
    for (int t = -reach; t <= reach; ++t) {
        // The mean of the Gaussian over the voxel, not its value at the centre: right for small
        // sigma too.
        const double scale = 1.0 / (std::numbers::sqrt2 * std::max(sigma_voxels, 1e-6));
        const double w = std::erf((t + 0.5) * scale) - std::erf((t - 0.5) * scale);
        weights[std::size_t(t + reach)] = static_cast<float>(w);
        sum += w;
    }
    for (float& w : weights) w = static_cast<float>(w / sum);
    return weights;
}

}  // namespace

Brick smooth(const Brick& brick, double sigma_mm, unsigned threads) {
    const Vec3 sigma = Vec3::Constant(sigma_mm).cwiseQuotient(brick.geometry.spacing_mm);
    return convolved(
        brick,
        {gaussian_weights(sigma.x()), gaussian_weights(sigma.y()), gaussian_weights(sigma.z())},
        threads);
}

void eigenvalues(const Symmetric3& m, float rising[3]) {
    const float mean = (m.xx + m.yy + m.zz) / 3;
    const float a = m.xx - mean;
    const float b = m.yy - mean;
    const float c = m.zz - mean;
    const float p2 = (a * a + b * b + c * c + 2 * (m.xy * m.xy + m.xz * m.xz + m.yz * m.yz)) / 6;
    if (p2 <= 0) {
        rising[0] = rising[1] = rising[2] = mean;
        return;
    }
    const float p = std::sqrt(p2);
    const float determinant = a * (b * c - m.yz * m.yz) - m.xy * (m.xy * c - m.yz * m.xz) +
                              m.xz * (m.xy * m.yz - b * m.xz);
    const float r = std::clamp(determinant / (2 * p2 * p), -1.0F, 1.0F);
    const float phi = std::acos(r) / 3;
    constexpr float third = 2 * std::numbers::pi_v<float> / 3;
    rising[2] = mean + 2 * p * std::cos(phi);
    rising[0] = mean + 2 * p * std::cos(phi + third);
    rising[1] = 3 * mean - rising[0] - rising[2];
}

Symmetric3 hessian(const Brick& brick, int i, int j, int k) {
    const float* g = brick.grey.data() + brick.geometry.index(i, j, k);
    const std::ptrdiff_t dy = brick.geometry.size[0];
    const std::ptrdiff_t dz = dy * brick.geometry.size[1];
    const auto hx = static_cast<float>(1 / brick.geometry.spacing_mm.x());
    const auto hy = static_cast<float>(1 / brick.geometry.spacing_mm.y());
    const auto hz = static_cast<float>(1 / brick.geometry.spacing_mm.z());
    const auto mixed = [g](std::ptrdiff_t u, std::ptrdiff_t v) {
        return (g[u + v] - g[u - v] - g[v - u] + g[-u - v]) / 4;
    };
    return {(g[1] - 2 * g[0] + g[-1]) * hx * hx,
            (g[dy] - 2 * g[0] + g[-dy]) * hy * hy,
            (g[dz] - 2 * g[0] + g[-dz]) * hz * hz,
            mixed(1, dy) * hx * hy,
            mixed(1, dz) * hx * hz,
            mixed(dy, dz) * hy * hz};
}

double quantile(std::vector<float>& values, double fraction) {
    if (values.empty()) return 0;
    const auto rank = static_cast<std::size_t>(std::clamp(fraction, 0.0, 1.0) *
                                               static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(rank),
                     values.end());
    return values[rank];
}

double robust_sd(std::vector<float> values) {
    if (values.empty()) return 0;
    const auto middle = static_cast<float>(quantile(values, 0.5));
    for (float& v : values) v = std::abs(v - middle);
    return 1.4826 * quantile(values, 0.5);  // of a normal sample
}

}  // namespace anfract::tracing
