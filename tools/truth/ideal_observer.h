#pragma once

namespace anfract::truth {

/// A straight round tube in even material, as the virtual scanner images it.
struct TubeScan {
    double diameter_mm = 0.2;
    double length_mm = 6;
    double contrast = 1540;  ///< grey values by which the tube is darker
    double voxel_mm = 0.125;
    double psf_fwhm_mm = 0.25;   ///< of the whole point spread
    double noise = 70;           ///< standard deviation, grey values
    double noise_fwhm_mm = 0.2;  ///< of the Gaussian that white noise is filtered with
};

/// What no method can exceed, by numerical integration over the spatial frequencies that the voxels
/// carry. The tube's place, contrast and surroundings count as known.
struct ObserverLimit {
    /// Detection index of the prewhitening matched filter: the distance of its two distributions,
    /// with and without the tube, in standard deviations [Barrett2004].
    double detection_index = 0;
    /// Least standard deviation of an unbiased estimate of the diameter [Kay1993].
    double diameter_sd_mm = 0;
};

ObserverLimit ideal_observer(const TubeScan& scan);

}  // namespace anfract::truth
