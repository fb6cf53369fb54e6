#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/scan/read_scan.h"
#include "dicom_file.h"
#include "dicom_stack.h"

namespace anfract {

/// What the reading process is asked to do.
struct ReaderRequest {
    enum class Task : std::uint8_t { Open, List, Unpack };
    Task task = Task::Open;
    std::vector<std::filesystem::path> files;
    bool folder = false;  ///< the files were found in a folder rather than named
    std::string where;    ///< what the user named, for messages
    std::string series_uid;
    unsigned threads = 0;
    std::size_t voxel_limit = 0;
};

/// A scan as the reading process has understood it.
///
/// Pixels that lie unencoded in the files stay there, and `files` and `slices` say where: to copy
/// them is neither parsing nor decoding, and the process that wants them does it fastest. Other
/// pixels lie decoded in the memory file that came with the request.
struct ParsedScan {
    OpenedScan scan;  ///< without voxels
    bool in_memory_file = false;
    std::vector<DicomFile> files;  ///< path, packing, layout, place of the pixels and grey scales
    std::vector<StackSlice> slices;
};

std::string pack_request(const ReaderRequest& request);
std::optional<ReaderRequest> unpack_request(std::string_view bytes);

std::string pack_parsed(const Result<ParsedScan>& parsed);
/// Nothing when the bytes are not what pack_parsed makes, or tell of a scan that cannot be: sizes
/// and places are checked, and `files` must be among those of the request.
std::optional<Result<ParsedScan>> unpack_parsed(std::string_view bytes,
                                                const ReaderRequest& request);

std::string pack_listing(const Result<std::vector<SeriesInfo>>& listing);
std::optional<Result<std::vector<SeriesInfo>>> unpack_listing(std::string_view bytes);

}  // namespace anfract
