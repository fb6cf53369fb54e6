#include "smoothing.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "anfract/scan/convolve.h"

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

}  // namespace

std::vector<float> gaussian_smoothed(const Brick& brick, double sigma_voxels, unsigned threads) {
    const std::vector<float> kernel = gaussian_kernel(sigma_voxels);
    return convolved(brick, {kernel, kernel, kernel}, threads).grey;
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
    const auto quantile = [&](double q) {
        const auto at = sample.begin() + std::ptrdiff_t(q * double(sample.size() - 1));
        std::nth_element(sample.begin(), at, sample.end());
        return *at;
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
