#pragma once

#include "anfract/base/result.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// How much the grey values of homogeneous tissue scatter, and over what distance the scatter hangs
/// together.
struct Noise {
    double sd_grey = 0;  ///< standard deviation of one voxel, grey units
    double correlation_mm =
        0;  ///< sigma of the Gaussian that would smooth white noise to this correlation
    std::size_t samples = 0;  ///< second differences that were used
};

/// Estimates the noise from second differences f(x-h) - 2 f(x) + f(x+h) in bright homogeneous
/// tissue.
///
/// For stationary noise of variance s^2 and autocorrelation rho(h), in tissue of some curvature,
/// their variance is s^2 (6 - 8 rho(h) + 2 rho(2h)) + q h^4. The median absolute deviation at the
/// lags h = 1..4 voxels gives it robustly; s, the width of a Gaussian rho and q are fitted, so that
/// noise which the reconstruction has smoothed is not taken for less, nor structure for more.
/// Tissue counts as homogeneous where it is bright by Otsu's threshold [Otsu1979], applied once
/// more when what is bright is clearly two tissues (bone and tooth), and where the smoothed
/// gradient is in its lowest quarter.
///
/// @return accuracy 5 % for white noise and for noise smoothed by up to 0.9 voxels; noise smoothed
/// by 1.2 voxels comes out 6 % low, its long tail being taken for structure (EstimateNoise tests).
/// Errors: NotConverged when there are fewer than 500 differences in such tissue.
Result<Noise> estimate_noise(const Brick& brick, unsigned threads = 0);

}  // namespace anfract
