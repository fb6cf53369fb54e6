#pragma once

#include <array>
#include <vector>

namespace anfract::bench {

/// Voxels without any type of ours: ITK carries an Eigen of its own, which does not bear another
/// beside it.
struct PlainImage {
    std::array<int, 3> size{0, 0, 0};
    std::array<double, 3> spacing_mm{1, 1, 1};
    std::vector<float> grey;
};

/// What ITK's own filters give for the same task: evidence for tubes, ways from the chamber,
/// distances.
struct ItkTrace {
    std::vector<float> vesselness;
    std::vector<float> arrival;      ///< of the front from the seed; huge where it did not come
    std::vector<float> distance_mm;  ///< to the surface of what is harder than `hard_from`
};

/// MultiScaleHessianBasedMeasure with the objectness of dark tubes at four scales [Sato1998,
/// Frangi1998], FastMarching on the speed it gives with a stopping value, SignedMaurerDistanceMap
/// of the thresholded tooth. On up to `threads` threads (0: as many as the machine has processors).
ItkTrace trace_with_itk(const PlainImage& plain, const std::array<int, 3>& seed, float hard_from,
                        double stop_at, unsigned threads = 0);

}  // namespace anfract::bench
