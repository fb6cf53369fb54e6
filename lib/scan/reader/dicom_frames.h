#pragma once

#include <optional>
#include <string>
#include <vector>

#include "dicom_file.h"

class DcmItem;

namespace anfract {

/// The frames of a data set: one for a plain image, one per item of the functional groups of an
/// enhanced multi-frame object, NumberOfFrames for an older multi-frame object. Nothing, with
/// `complaint` set, when the groups do not fit the number of frames.
std::optional<std::vector<DicomFrame>> frames_of(DcmItem& dataset, std::string& complaint);

}  // namespace anfract
