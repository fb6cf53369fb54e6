// Method: docs/methods/ideal-observer.md

#include "ideal_observer.h"

#include <cmath>
#include <numbers>
#include <vector>

#include "anfract/phantom/scanner.h"

namespace anfract::truth {
namespace {

const double sigma_per_fwhm = 1 / (2 * std::sqrt(2 * std::log(2.0)));

/// Transform of a disc of diameter d at radial frequency f, and its derivative by d.
struct Disc {
    double value, by_diameter;
};
Disc disc_at(double f, double d) {
    const double x = std::numbers::pi * d * f;
    if (x < 1e-6) return {std::numbers::pi * d * d / 4, std::numbers::pi * d / 2};
    // d/dx (x J1(x)) = x J0(x).
    return {d * std::cyl_bessel_j(1, x) / (2 * f),
            std::numbers::pi * d / 2 * std::cyl_bessel_j(0, x)};
}

/// The transfer of a symmetric kernel over voxels at frequency f.
double transfer(const std::vector<double>& kernel, double f, double voxel_mm) {
    const auto half = std::ptrdiff_t(kernel.size() / 2);
    double sum = 0;
    for (std::ptrdiff_t k = -half; k <= half; ++k) {
        sum += kernel[std::size_t(k + half)] *
               std::cos(2 * std::numbers::pi * f * double(k) * voxel_mm);
    }
    return sum;
}

}  // namespace

ObserverLimit ideal_observer(const TubeScan& scan) {
    constexpr int steps = 400;
    const double h = scan.voxel_mm, nyquist = 1 / (2 * h), step = 2 * nyquist / steps;
    const double sigma_psf = scan.psf_fwhm_mm * sigma_per_fwhm;
    const std::vector<double> kernel = gaussian_kernel(scan.noise_fwhm_mm * sigma_per_fwhm / h);
    double energy = 0;  // of the noise filter along one axis
    for (const double w : kernel) energy += w * w;
    // Noise of unit variance: power h^3 |K|^2 / energy^3 at a frequency; along the tube only 0
    // counts.
    const double flat = scan.noise * scan.noise * h * h * h / (energy * energy * energy);
    double index2 = 0, information = 0;
    for (int i = 0; i < steps; ++i) {
        const double fx = -nyquist + (i + 0.5) * step;
        const double kx = transfer(kernel, fx, h);
        for (int j = 0; j < steps; ++j) {
            const double fy = -nyquist + (j + 0.5) * step;
            const double ky = transfer(kernel, fy, h), f2 = fx * fx + fy * fy;
            const double blur = std::exp(-4 * std::pow(std::numbers::pi * sigma_psf, 2) * f2);
            const Disc disc = disc_at(std::sqrt(f2), scan.diameter_mm);
            const double gain = scan.contrast * scan.contrast * blur / (flat * kx * kx * ky * ky);
            index2 += gain * disc.value * disc.value;
            information += gain * disc.by_diameter * disc.by_diameter;
        }
    }
    const double area = scan.length_mm * step * step;
    return {std::sqrt(index2 * area), 1 / std::sqrt(information * area)};
}

}  // namespace anfract::truth
