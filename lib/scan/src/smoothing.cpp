#include "smoothing.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "anfract/base/parallel.h"

namespace anfract {
namespace {

std::vector<float> gaussian_kernel(double sigma) {
    const int radius = std::max(1, static_cast<int>(std::ceil(3 * sigma)));
    std::vector<float> kernel;
    double sum = 0;
    for (int i = -radius; i <= radius; ++i) sum += std::exp(-i * i / (2 * sigma * sigma));
    for (int i = -radius; i <= radius; ++i) {
        kernel.push_back(static_cast<float>(std::exp(-i * i / (2 * sigma * sigma)) / sum));
    }
    return kernel;
}

/// Convolves lines of `length` values `stride` apart, one line for each of `count` starts. Lines
/// next to each other in memory are done together, so that the inner loop runs along contiguous
/// values.
void smooth_axis(std::vector<float>& values, const GridGeometry& g, std::size_t axis,
                 const std::vector<float>& kernel) {
    const int length = g.size[axis];
    const int radius = static_cast<int>(kernel.size() / 2);
    const std::size_t stride = axis == 0   ? 1
                               : axis == 1 ? std::size_t(g.size[0])
                                           : std::size_t(g.size[0]) * std::size_t(g.size[1]);
    const std::size_t width = axis == 0 ? 1 : axis == 1 ? std::size_t(g.size[0]) : stride;
    const std::size_t blocks = g.voxel_count() / (width * std::size_t(length));
    // Wide planes are cut into strips so that the copy of a strip stays in the cache.
    const std::size_t strip = std::min<std::size_t>(width, 512);
    const std::size_t strips = (width + strip - 1) / strip;
    parallel_for(blocks * strips, 0, [&](std::size_t begin, std::size_t end) {
        std::vector<float> copy;
        for (std::size_t task = begin; task < end; ++task) {
            const std::size_t offset = (task % strips) * strip;
            const std::size_t n = std::min(strip, width - offset);
            float* const base = &values[(task / strips) * width * std::size_t(length) + offset];
            copy.resize(n * std::size_t(length));
            for (int l = 0; l < length; ++l) {
                std::copy_n(base + std::size_t(l) * stride, n, &copy[std::size_t(l) * n]);
            }
            for (int l = 0; l < length; ++l) {
                float* const out = base + std::size_t(l) * stride;
                std::fill_n(out, n, 0.0f);
                for (int m = -radius; m <= radius; ++m) {
                    const float weight = kernel[std::size_t(m + radius)];
                    const float* in = &copy[std::size_t(std::clamp(l + m, 0, length - 1)) * n];
                    for (std::size_t x = 0; x < n; ++x) out[x] += weight * in[x];
                }
            }
        }
    });
}

}  // namespace

std::vector<float> gaussian_smoothed(const Brick& brick, double sigma_voxels) {
    std::vector<float> values = brick.grey;
    const std::vector<float> kernel = gaussian_kernel(sigma_voxels);
    for (std::size_t axis = 0; axis < 3; ++axis) {
        if (brick.geometry.size[axis] > 1) smooth_axis(values, brick.geometry, axis, kernel);
    }
    return values;
}

Vec3 gradient_at(const GridGeometry& g, const std::vector<float>& values, int i, int j, int k) {
    const std::size_t at = g.index(i, j, k);
    const auto row = std::size_t(g.size[0]);
    const std::size_t plane = row * std::size_t(g.size[1]);
    return Vec3((values[at + 1] - values[at - 1]) / (2 * g.spacing_mm.x()),
                (values[at + row] - values[at - row]) / (2 * g.spacing_mm.y()),
                (values[at + plane] - values[at - plane]) / (2 * g.spacing_mm.z()));
}

TwoClasses otsu(const std::vector<float>& values) {
    const std::size_t step = std::max<std::size_t>(1, values.size() / 200000);
    std::vector<float> sample;
    for (std::size_t i = 0; i < values.size(); i += step) sample.push_back(values[i]);
    if (sample.empty()) return {};
    std::sort(sample.begin(), sample.end());
    const auto quantile = [&](double q) {
        return sample[std::size_t(q * double(sample.size() - 1))];
    };
    const double low = quantile(0.001);
    const double high = quantile(0.999);
    if (!(high > low)) return {low, low, low, 0};
    constexpr int bins = 256;
    std::array<double, bins> count{};
    for (const float v : sample) {
        ++count[std::size_t(std::clamp((v - low) / (high - low) * bins, 0.0, bins - 1.0))];
    }
    double total = 0;
    double weighted = 0;
    for (int b = 0; b < bins; ++b) {
        total += count[std::size_t(b)];
        weighted += count[std::size_t(b)] * b;
    }
    TwoClasses best;
    double squares = 0;
    for (int b = 0; b < bins; ++b) squares += count[std::size_t(b)] * b * b;
    const double all_variance = squares * total - weighted * weighted;
    double best_between = -1;
    double below = 0;
    double below_weighted = 0;
    const auto grey = [&](double bin) { return low + (bin + 0.5) / bins * (high - low); };
    for (int b = 0; b + 1 < bins; ++b) {
        below += count[std::size_t(b)];
        below_weighted += count[std::size_t(b)] * b;
        const double above = total - below;
        if (below == 0 || above == 0) continue;
        const double mean_low = below_weighted / below;
        const double mean_high = (weighted - below_weighted) / above;
        const double between = below * above * (mean_high - mean_low) * (mean_high - mean_low);
        if (between > best_between) {
            best_between = between;
            best = {grey(b + 0.5), grey(mean_low), grey(mean_high), between / all_variance};
        }
    }
    return best;
}

}  // namespace anfract
