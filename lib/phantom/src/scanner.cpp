#include "anfract/phantom/scanner.h"

#include <algorithm>
#include <cmath>

#include "anfract/base/parallel.h"
#include "anfract/phantom/random.h"

namespace anfract {

namespace {

const double fwhm_per_sigma = 2 * std::sqrt(2 * std::log(2.0));

enum class Border { Repeat, Wrap };

struct Crew {
    unsigned threads;
    const Progress& progress;
};

std::size_t border_index(std::ptrdiff_t i, std::ptrdiff_t n, Border border) {
    if (border == Border::Repeat)
        return static_cast<std::size_t>(std::clamp<std::ptrdiff_t>(i, 0, n - 1));
    return static_cast<std::size_t>(((i % n) + n) % n);
}

// Convolves every line along `axis`. Lines are handled in bundles of neighbours along i, so that
// memory is read in order whatever the axis.
void convolve_axis(std::vector<float>& values, const std::array<int, 3>& size, int axis,
                   const std::vector<double>& kernel, Border border, const Crew& crew) {
    const auto half = static_cast<std::ptrdiff_t>(kernel.size() / 2);
    if (half == 0) return;
    const std::array<std::size_t, 3> stride{
        1, static_cast<std::size_t>(size[0]),
        static_cast<std::size_t>(size[0]) * static_cast<std::size_t>(size[1])};
    const auto a = static_cast<std::size_t>(axis);
    const std::ptrdiff_t n = size[a];
    const std::size_t bundle = axis == 0 ? 1 : stride[1];  // neighbours along i
    const std::size_t outer_axis = axis == 2 ? 1 : 2;
    const std::size_t outer =
        axis == 0 ? static_cast<std::size_t>(size[1]) * static_cast<std::size_t>(size[2])
                  : static_cast<std::size_t>(size[outer_axis]);
    parallel_for(outer, crew.threads, [&](std::size_t begin, std::size_t end) {
        std::vector<float> line(static_cast<std::size_t>(n) * bundle);
        std::vector<double> sum(bundle);
        for (std::size_t o = begin; o < end && !crew.progress.cancelled(); ++o) {
            float* const base = values.data() + o * (axis == 0 ? stride[1] : stride[outer_axis]);
            for (std::ptrdiff_t i = 0; i < n; ++i) {
                const float* const from = base + static_cast<std::size_t>(i) * stride[a];
                std::copy(from, from + bundle, line.data() + static_cast<std::size_t>(i) * bundle);
            }
            for (std::ptrdiff_t i = 0; i < n; ++i) {
                std::fill(sum.begin(), sum.end(), 0.0);
                for (std::ptrdiff_t k = -half; k <= half; ++k) {
                    const double w = kernel[static_cast<std::size_t>(k + half)];
                    const float* const from = line.data() + border_index(i + k, n, border) * bundle;
                    for (std::size_t b = 0; b < bundle; ++b)
                        sum[b] += w * static_cast<double>(from[b]);
                }
                float* const to = base + static_cast<std::size_t>(i) * stride[a];
                for (std::size_t b = 0; b < bundle; ++b) to[b] = static_cast<float>(sum[b]);
            }
        }
    });
}

}  // namespace

std::vector<double> gaussian_kernel(double sigma_voxels) {
    if (sigma_voxels <= 0) return {1.0};
    if (sigma_voxels < 0.68) {
        // Too narrow to sample: three weights with the right variance.
        const double side = sigma_voxels * sigma_voxels / 2;
        return {side, 1 - 2 * side, side};
    }
    const int half = static_cast<int>(std::ceil(4 * sigma_voxels));
    std::vector<double> kernel;
    double total = 0;
    for (int i = -half; i <= half; ++i) {
        kernel.push_back(std::exp(-0.5 * i * i / (sigma_voxels * sigma_voxels)));
        total += kernel.back();
    }
    for (double& weight : kernel) weight /= total;
    return kernel;
}

void blur_to_fwhm(Brick& brick, double fwhm_mm, unsigned threads, const Progress& progress) {
    const double wanted = fwhm_mm / fwhm_per_sigma;
    for (int axis = 0; axis < 3; ++axis) {
        const double voxel = brick.geometry.spacing_mm[axis];
        const double variance = wanted * wanted - voxel * voxel / 12;
        if (variance <= 0) continue;
        convolve_axis(brick.grey, brick.geometry.size, axis,
                      gaussian_kernel(std::sqrt(variance) / voxel), Border::Repeat,
                      {threads, progress});
    }
}

std::vector<float> correlated_noise(const std::array<int, 3>& size, const Vec3& spacing_mm,
                                    double fwhm_mm, std::uint64_t seed, std::uint64_t stream,
                                    unsigned threads, const Progress& progress) {
    std::vector<float> noise(static_cast<std::size_t>(size[0]) * static_cast<std::size_t>(size[1]) *
                             static_cast<std::size_t>(size[2]));
    // Each slice draws from its own stream, so that slices can be filled side by side.
    const std::size_t slice = noise.size() / static_cast<std::size_t>(size[2]);
    parallel_for(static_cast<std::size_t>(size[2]), threads,
                 [&](std::size_t begin, std::size_t end) {
                     for (std::size_t k = begin; k < end && !progress.cancelled(); ++k) {
                         Random random(seed, (stream << 32) + k);
                         for (std::size_t i = 0; i < slice; ++i) {
                             noise[k * slice + i] = static_cast<float>(random.normal());
                         }
                     }
                 });
    double energy = 1;
    for (int axis = 0; axis < 3; ++axis) {
        const std::vector<double> kernel =
            gaussian_kernel(fwhm_mm / fwhm_per_sigma / spacing_mm[axis]);
        double squares = 0;
        for (const double w : kernel) squares += w * w;
        energy *= squares;
        convolve_axis(noise, size, axis, kernel, Border::Wrap, {threads, progress});
    }
    const auto scale = static_cast<float>(1 / std::sqrt(energy));
    for (float& value : noise) value *= scale;
    return noise;
}

}  // namespace anfract
