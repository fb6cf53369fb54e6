#include "field.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/base/parallel.h"

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

/// out[x] += sum of weights along the fastest axis; `padded` holds the row with its borders
/// repeated.
void convolve_row(const float* row, int count, const std::vector<float>& weights,
                  std::vector<float>& padded, float* out) {
    const int reach = static_cast<int>(weights.size() / 2);
    padded.resize(std::size_t(count + 2 * reach));
    std::fill_n(padded.begin(), reach, row[0]);
    std::copy_n(row, count, padded.begin() + reach);
    std::fill_n(padded.begin() + reach + count, reach, row[count - 1]);
    std::fill_n(out, count, 0.0F);
    for (std::size_t t = 0; t < weights.size(); ++t) {
        const float w = weights[t];
        const float* in = padded.data() + t;
        for (int x = 0; x < count; ++x) out[x] += w * in[x];
    }
}

/// Convolves along a slower axis: whole rows of `row_length` floats are summed, `stride` floats
/// apart.
void convolve_rows(const float* in, float* out, int position, int count, std::size_t stride,
                   int row_length, const std::vector<float>& weights) {
    const int reach = static_cast<int>(weights.size() / 2);
    std::fill_n(out, row_length, 0.0F);
    for (int t = -reach; t <= reach; ++t) {
        const float w = weights[std::size_t(t + reach)];
        const float* row = in + std::size_t(std::clamp(position + t, 0, count - 1)) * stride;
        for (int x = 0; x < row_length; ++x) out[x] += w * row[x];
    }
}

}  // namespace

Brick smooth(const Brick& brick, double sigma_mm, unsigned threads) {
    const auto [nx, ny, nz] = brick.geometry.size;
    const Vec3& spacing = brick.geometry.spacing_mm;
    const std::size_t slice = std::size_t(nx) * std::size_t(ny);
    const std::vector<float> wx = gaussian_weights(sigma_mm / spacing.x());
    const std::vector<float> wy = gaussian_weights(sigma_mm / spacing.y());
    const std::vector<float> wz = gaussian_weights(sigma_mm / spacing.z());

    Brick in_plane{brick.geometry, std::vector<float>(brick.grey.size())};
    parallel_for(std::size_t(nz), threads, [&](std::size_t begin, std::size_t end) {
        std::vector<float> padded;
        std::vector<float> rows(slice);
        for (std::size_t k = begin; k < end; ++k) {
            for (int j = 0; j < ny; ++j) {
                const std::size_t at = std::size_t(j) * std::size_t(nx);
                convolve_row(brick.grey.data() + k * slice + at, nx, wx, padded, rows.data() + at);
            }
            for (int j = 0; j < ny; ++j) {
                float* out = in_plane.grey.data() + k * slice + std::size_t(j) * std::size_t(nx);
                convolve_rows(rows.data(), out, j, ny, std::size_t(nx), nx, wy);
            }
        }
    });
    Brick result{brick.geometry, std::vector<float>(brick.grey.size())};
    parallel_for(std::size_t(nz), threads, [&](std::size_t begin, std::size_t end) {
        for (std::size_t k = begin; k < end; ++k) {
            for (int j = 0; j < ny; ++j) {
                const std::size_t row = std::size_t(j) * std::size_t(nx);
                convolve_rows(in_plane.grey.data() + row, result.grey.data() + k * slice + row,
                              static_cast<int>(k), nz, slice, nx, wz);
            }
        }
    });
    return result;
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
