#pragma once

#include <filesystem>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/scan/volume.h"

namespace anfract {

/// The new identifiers of such a scan.
struct PseudonymousScan {
    std::string study_uid, series_uid, frame_uid;
};

/// Writes a scan as a series of CT images that tells nothing of the patient but the voxels: made
/// anew from the volume, so that of the original's attributes none is carried over, as the Basic
/// Application Level Confidentiality Profile asks (DICOM PS3.15, E.2), and marked as such (code
/// 113100). All identifiers are new. What the voxels show is not changed: in a scan that reaches
/// beyond the jaws a face can be recognised.
///
/// Grey values are kept to the voxel where the scan's stored values are whole; see Volume.
/// @param pseudonym  stands for the patient's name and id
/// @param folder     must exist; one file a slice
/// Errors: Io, Cancelled.
Result<PseudonymousScan> write_pseudonymous_scan(const Volume& volume, const std::string& pseudonym,
                                                 const std::filesystem::path& folder,
                                                 const Progress& progress);

}  // namespace anfract
