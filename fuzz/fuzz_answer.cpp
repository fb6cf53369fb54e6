// Any bytes as the answer of a reading process that an input has taken over.
#include <cstdint>
#include <string_view>

#include "fill_volume.h"
#include "parsed_scan.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view bytes(reinterpret_cast<const char*>(data), size);
    anfract::ReaderRequest request;
    request.files = {"/dev/null", "/proc/self/exe"};
    request.voxel_limit = std::size_t{1} << 16;
    (void)anfract::unpack_listing(bytes);
    (void)anfract::unpack_request(bytes);
    auto parsed = anfract::unpack_parsed(bytes, request);
    if (!parsed || !*parsed || (*parsed)->in_memory_file) return 0;
    // What was believed is read from the files, and must stay within them and the volume.
    anfract::ParsedScan& scan = **parsed;
    anfract::Voxels voxels(scan.scan.volume.geometry.voxel_count());
    (void)anfract::fill_voxels(scan.files, {scan.scan.volume.geometry, scan.slices, {}},
                               anfract::open_native_frames, 1, anfract::Progress(), voxels.data());
    return 0;
}
