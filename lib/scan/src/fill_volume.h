#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "dicom_file.h"
#include "dicom_stack.h"
#include "frame_source.h"

namespace anfract {

/// The line from stored numbers to grey values.
struct GreyLine {
    double slope = 1;
    double intercept = 0;
    bool operator==(const GreyLine&) const = default;
};

using OpenFrames = std::function<Result<std::unique_ptr<FrameSource>>(const DicomFile&)>;

/// Reads the pixels of a stack into `to` on `threads` threads, with one line to grey values for
/// all.
///
/// @param to  room for every voxel of stack.geometry
Result<GreyLine> fill_voxels(const std::vector<DicomFile>& files, const Stack& stack,
                             const OpenFrames& open_frames, unsigned threads,
                             const Progress& progress, std::int16_t* to);

}  // namespace anfract
