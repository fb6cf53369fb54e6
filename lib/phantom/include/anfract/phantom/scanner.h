#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// Blurs a brick of box-integrated voxels so that its whole point spread, box included, has the
/// given full width at half maximum along every axis. A width below that of the box itself (FWHM of
/// equal variance, 0.68 voxel) leaves the brick as it is. Edges repeat the border voxel.
///
/// When `progress` is cancelled they return early with unusable values. The Gaussian that is
/// applied has variance (fwhm / 2.3548)^2 - voxel^2 / 12.
void blur_to_fwhm(Brick& brick, double fwhm_mm, unsigned threads, const Progress& progress);

/// Zero-mean noise of unit variance: white noise filtered with a Gaussian of the given full width
/// at half maximum, divided by the root of the kernel's sum of squares. The filter wraps round, so
/// that the variance is the same everywhere. The same seed and stream give the same values with any
/// number of threads.
std::vector<float> correlated_noise(const std::array<int, 3>& size, const Vec3& spacing_mm,
                                    double fwhm_mm, std::uint64_t seed, std::uint64_t stream,
                                    unsigned threads, const Progress& progress);

/// A symmetric kernel of an odd number of weights with sum 1 and the variance of a Gaussian, in
/// voxels.
std::vector<double> gaussian_kernel(double sigma_voxels);

}  // namespace anfract
