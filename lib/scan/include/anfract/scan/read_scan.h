#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/scan/dicom_study.h"
#include "anfract/scan/volume.h"

namespace anfract {

struct ReadOptions {
    std::string series_uid;  ///< which series, when there are several
    unsigned threads = 0;    ///< 0: as many as the machine has processors
    std::size_t voxel_limit = std::size_t{1}
                              << 31;     ///< larger scans are refused before memory is taken
    std::size_t memory_limit_bytes = 0;  ///< for decoding; 0: the memory of the machine
    double quiet_limit_s = 120;          ///< longest time a single step of reading may take
};

/// One image series of a folder, file or zip.
struct SeriesInfo {
    std::string series_uid;   ///< Series Instance UID
    std::string description;  ///< Series Description, may be empty
    int slices = 0;
};

/// A scan and what was noticed on the way in.
struct OpenedScan {
    Volume volume;
    std::string source;       ///< "DICOM series", "DICOM multi-frame file", "NIfTI" or "NRRD"
    std::string description;  ///< Series Description, may be empty
    std::string encoding;     ///< name of the DICOM transfer syntax, or empty
    DicomStudy study;         ///< of a DICOM scan
    std::vector<std::string>
        problems;  ///< one sentence each; the scan can be used in spite of them
};

/// Reads a scan: a DICOM folder, a DICOM file (one slice or many frames), a zip of those, a NIfTI
/// or NRRD file.
///
/// The files of a folder may lie in any order, in sub-folders and beside files of other kinds.
/// Slices are sorted along their normal, so that the grid is right-handed. A zip is unpacked into a
/// private temporary folder, within limits on count and size, and removed again.
///
/// Parsing and decoding run in a process of their own that can neither write files nor use a
/// network (docs/decisions/0004-scans-are-parsed-in-a-jail.md): `anfract_scan_reader`, beside the
/// running program.
///
/// @param path  what to read
/// @return the scan in patient coordinates (DICOM LPS, mm). Errors: NotFound (no such path, no such
/// series), Io, Unsupported (colour, tilted gantry, unknown encoding), BadInput (not a scan,
/// several series, missing or doubled slices, uneven spacing, no position, truncated data),
/// Cancelled. See docs/methods/reading-scans.md.
Result<OpenedScan> open_scan(const std::filesystem::path& path, const ReadOptions& options,
                             const Progress& progress);

/// The volume of open_scan, for callers that do not show problems.
Result<Volume> read_scan(const std::filesystem::path& path, const ReadOptions& options,
                         const Progress& progress);

/// The DICOM image series in a folder, file or zip; empty for NIfTI and NRRD. Errors as for
/// open_scan.
Result<std::vector<SeriesInfo>> list_series(const std::filesystem::path& path,
                                            const Progress& progress);

}  // namespace anfract
