#pragma once

#include <cstdint>
#include <vector>

#include "anfract/geometry/vec.h"
#include "anfract/scan/volume.h"

namespace anfract::tracing {

/// One byte per voxel of some brick: 0 outside, 1 inside.
using Mask = std::vector<std::uint8_t>;

/// Convolves with a Gaussian of standard deviation `sigma_mm` (cut off at 3.5 sigma, weights of sum
/// 1), the border voxels repeated outward. Separable, in floats; the same for any number of
/// threads.
Brick smooth(const Brick& brick, double sigma_mm, unsigned threads);

/// Eigenvalues of a symmetric 3 x 3 matrix in rising order [Smith 1961].
struct Symmetric3 {
    float xx, yy, zz, xy, xz, yz;
};
void eigenvalues(const Symmetric3& matrix, float rising[3]);

/// Second derivatives by central differences at a voxel, grey per mm^2. @pre not on the border
Symmetric3 hessian(const Brick& brick, int i, int j, int k);

/// The standard deviation of a normal sample's bulk from the median absolute deviation; 0 when
/// empty.
double robust_sd(std::vector<float> values);

/// The value below which `fraction` of the sample lies; 0 when empty.
double quantile(std::vector<float>& values, double fraction);

}  // namespace anfract::tracing
