#pragma once

#include <vector>

#include "anfract/scan/volume.h"

namespace anfract {

/// The brick convolved with a Gaussian of `sigma_voxels` along each voxel axis, borders repeated.
std::vector<float> gaussian_smoothed(const Brick& brick, double sigma_voxels, unsigned threads = 0);

/// Central differences per mm at an inner voxel (I frame axes), of values laid out like `geometry`.
Vec3 gradient_at(const GridGeometry& geometry, const std::vector<float>& values, int i, int j,
                 int k);

/// Otsu's threshold between two classes [Otsu1979], from a histogram of 256 bins between the 0.1
/// and 99.9 % quantiles of a sample of the values. Also the means of the two classes.
struct TwoClasses {
    double threshold = 0;
    double low_mean = 0;
    double high_mean = 0;
    double separation =
        0;  ///< variance between the classes over all variance; 2/pi for one Gaussian
};
TwoClasses otsu(const std::vector<float>& values);

}  // namespace anfract
