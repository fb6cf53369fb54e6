#pragma once

#include <filesystem>

#include "anfract/base/result.h"
#include "anfract/scan/read_scan.h"

namespace anfract {

/// Which of ITK's formats the bytes of a file belong to.
enum class ItkFormat { None, Nifti, Nrrd };
ItkFormat itk_format_of(const std::filesystem::path& path);

/// Reads a NIfTI or NRRD file. Sizes are checked against the file before memory is taken.
Result<OpenedScan> read_itk_image(const std::filesystem::path& path, ItkFormat format,
                                  std::size_t voxel_limit);

}  // namespace anfract
