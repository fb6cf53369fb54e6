#pragma once

#include <vector>

#include "anfract/base/progress.h"
#include "anfract/base/result.h"
#include "parsed_scan.h"

namespace anfract {

/// Understands the files of a request as one scan; decoded voxels are put into the memory file.
/// Errors as for open_scan.
Result<ParsedScan> parse_scan(const ReaderRequest& request, int memory_file,
                              const Progress& progress);

/// The DICOM series among the files; empty for NIfTI and NRRD.
Result<std::vector<SeriesInfo>> parse_listing(const ReaderRequest& request,
                                              const Progress& progress);

/// The work of the reading process: one request from `call`, answered.
void serve_request(int call, int memory_file);

/// Sets up once what parsing needs, before there is any input.
void prepare_parsers();

}  // namespace anfract
