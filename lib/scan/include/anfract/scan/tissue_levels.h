#pragma once

#include <string>
#include <vector>

#include "anfract/scan/volume.h"

namespace anfract {

/// A kind of tissue as it stands in the grey values.
struct TissueLevel {
    std::string name;    ///< "air", "soft tissue", "cancellous bone", "dentine or cortical bone",
                         ///< "enamel" or "metal or filling"
    double grey = 0;     ///< mean
    double sd_grey = 0;  ///< scatter round it: noise and true variety
    double share = 0;    ///< part of the homogeneous voxels, 0..1
};

/// Finds the grey levels of the tissues by a Gaussian mixture fitted to the homogeneous voxels.
///
/// Voxels on a blurred edge are left out, since they belong to no tissue. Expectation maximisation
/// [Dempster1977] runs with 1 to 6 components and the Bayesian information criterion [Schwarz1978]
/// chooses their number. The names follow the usual grey values of cone-beam scans (common
/// practice, no source); the scale of such scans is not calibrated, so that a name is a suggestion.
/// Sorted by grey; empty for an empty brick.
std::vector<TissueLevel> tissue_levels(const Brick& brick);

}  // namespace anfract
