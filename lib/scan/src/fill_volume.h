#pragma once

#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/scan/volume.h"
#include "dicom_file.h"
#include "dicom_stack.h"

namespace anfract {

/// Reads the pixels of a stack into a volume with one common grey scale, on `threads` threads.
Result<Volume> fill_volume(const std::vector<DicomFile>& files, const Stack& stack,
                           unsigned threads, const Progress& progress);

}  // namespace anfract
