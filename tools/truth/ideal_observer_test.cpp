#include "ideal_observer.h"

#include <gtest/gtest.h>

#include <cmath>

namespace anfract::truth {
namespace {

const double sigma_per_fwhm = 1 / (2 * std::sqrt(2 * std::log(2.0)));

/// A thin tube on voxels far finer than blur and noise: everything is Gaussian, and the integral is
/// d'^2 = L (C A)^2 / (sigma^2 (2 sqrt(pi) s_n)^3) / (4 pi (s_p^2 - s_n^2)).
TEST(IdealObserver, HasTheClosedFormOfAThinTubeOnFineVoxels) {
    TubeScan scan;
    scan.diameter_mm = 0.01;
    scan.voxel_mm = 0.03;
    scan.psf_fwhm_mm = 0.4;
    scan.noise_fwhm_mm = 0.2;
    const double sn = 0.2 * sigma_per_fwhm, sp = 0.4 * sigma_per_fwhm;
    const double area = M_PI * 0.01 * 0.01 / 4;
    const double index2 = scan.length_mm * std::pow(scan.contrast * area, 2) /
                          (scan.noise * scan.noise * std::pow(2 * std::sqrt(M_PI) * sn, 3)) /
                          (4 * M_PI * (sp * sp - sn * sn));
    EXPECT_NEAR(ideal_observer(scan).detection_index / std::sqrt(index2), 1, 0.01);
    // The area of a thin tube goes with its diameter squared: sd(d) = d / (2 d').
    EXPECT_NEAR(ideal_observer(scan).diameter_sd_mm / (0.01 / (2 * std::sqrt(index2))), 1, 0.01);
}

TEST(IdealObserver, GainsWithTheRootOfTheLength) {
    TubeScan scan;
    const ObserverLimit one = ideal_observer(scan);
    scan.length_mm *= 4;
    EXPECT_NEAR(ideal_observer(scan).detection_index / one.detection_index, 2, 1e-9);
    scan.noise *= 2;
    EXPECT_NEAR(ideal_observer(scan).diameter_sd_mm / one.diameter_sd_mm, 1, 1e-9);
}

}  // namespace
}  // namespace anfract::truth
