#pragma once

#include <filesystem>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "anfract/phantom/phantom.h"

namespace anfract {

/// Identifiers of an invented scan: "2.25." and the decimal number of a UUID (PS3.5 B.2) that is
/// made from the options by SHA-1 (RFC 4122, version 5), so that the same phantom always has the
/// same ones.
std::string phantom_uid(const PhantomOptions& options, const std::string& what);

/// Writes the volume as a series of CT images into `folder` (which must exist), one file a slice,
/// and says in each that it is invented. Explicit VR little endian; unsigned 16-bit values with a
/// rescale intercept. Errors: Io, Cancelled.
Result<void> write_dicom_series(const Phantom& phantom, const std::filesystem::path& folder,
                                const Progress& progress);

/// The truth as an anfract.truth document: where to click, the parameters, and the tooth.
nlohmann::json truth_to_json(const Phantom& phantom);

/// Refuses (BadInput) when `out` already has a scan or a truth that would be overwritten and
/// `force` is not set.
Result<void> check_phantom_folder(const std::filesystem::path& out, bool force);

/// Writes out/scan/*.dcm and out/truth.json. Everything is written beside its place first and
/// renamed when whole, so that a failure leaves `out` as it was. Errors: BadInput (see
/// check_phantom_folder), Io, Cancelled.
Result<void> write_phantom(const Phantom& phantom, const std::filesystem::path& out, bool force,
                           const Progress& progress);

}  // namespace anfract
