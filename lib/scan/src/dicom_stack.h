#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/scan/volume.h"
#include "dicom_file.h"

namespace anfract {

/// One slice of a stack: which frame of which file.
struct StackSlice {
    std::size_t file = 0;
    std::size_t frame = 0;
    double depth_mm = 0;  ///< position along the normal
};

/// The slices of one series in order along their normal, and the grid they make.
struct Stack {
    GridGeometry geometry;
    std::vector<StackSlice> slices;
    std::vector<std::string> problems;
};

/// Sorts the frames of one series along their normal and checks that they make a grid.
///
/// Errors: no position or pixel spacing, mixed sizes or orientations, doubled or missing slices,
/// uneven spacing, slices shifted sideways (tilted gantry). Small irregularities become problems.
Result<Stack> stack_slices(const std::vector<DicomFile>& files, const std::string& where);

}  // namespace anfract
