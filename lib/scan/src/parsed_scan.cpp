#include "parsed_scan.h"

#include <Eigen/LU>
#include <algorithm>
#include <cmath>

#include "packed.h"

namespace anfract {
namespace {

constexpr int largest_side = 65535;

void put_error(Packer& to, const Error& error) {
    to << error.code << error.what << error.where << error.remedy;
}

Error take_error(Unpacker& from) {
    Error error;
    int code = 0;
    from >> code >> error.what >> error.where >> error.remedy;
    error.code = static_cast<ErrorCode>(std::clamp(code, 0, int(ErrorCode::Cancelled)));
    return error;
}

void put_geometry(Packer& to, const GridGeometry& g) {
    for (const int n : g.size) to << n;
    for (int a = 0; a < 3; ++a) to << g.spacing_mm[a] << g.origin_P[a];
    for (int a = 0; a < 9; ++a) to << g.direction(a / 3, a % 3);
}

GridGeometry take_geometry(Unpacker& from) {
    GridGeometry g;
    for (int& n : g.size) from >> n;
    for (int a = 0; a < 3; ++a) from >> g.spacing_mm[a] >> g.origin_P[a];
    for (int a = 0; a < 9; ++a) from >> g.direction(a / 3, a % 3);
    return g;
}

bool is_possible(const GridGeometry& g, std::size_t voxel_limit) {
    for (const int n : g.size) {
        if (n < 1 || n > largest_side) return false;
    }
    return g.voxel_count() <= voxel_limit && g.spacing_mm.allFinite() && g.origin_P.allFinite() &&
           g.direction.allFinite() && g.spacing_mm.minCoeff() > 0 &&
           (g.direction.transpose() * g.direction).isApprox(Mat3::Identity(), 1e-2) &&
           g.direction.determinant() > 0;
}

bool is_possible(const DicomStudy& study) {
    bool possible = true;
    for (const std::string* uid : {&study.study_uid, &study.frame_uid})
        possible = possible && (uid->empty() || is_dicom_uid(*uid));
    for_each_member(study, [&](const char*, const std::string& text) {
        possible = possible && text.size() <= longest_study_text_bytes;
    });
    return possible;
}

void put_file(Packer& to, const DicomFile& file) {
    const PixelLayout& l = file.layout;
    to << std::uint64_t{file.number} << int(file.packing) << l.rows << l.columns << l.bits_allocated
       << l.bits_stored << l.high_bit << l.is_signed << file.pixel_offset << file.pixel_bytes
       << std::uint64_t{file.frames.size()};
    for (const DicomFrame& frame : file.frames) to << frame.slope << frame.intercept;
}

/// Where the pixels of one file lie. False for what cannot be copied as it lies.
bool take_file(Unpacker& from, const ReaderRequest& request, DicomFile& file) {
    std::uint64_t index = 0;
    int packing = 0;
    PixelLayout& l = file.layout;
    from >> index >> packing >> l.rows >> l.columns >> l.bits_allocated >> l.bits_stored >>
        l.high_bit >> l.is_signed >> file.pixel_offset >> file.pixel_bytes;
    file.frames.resize(from.count(2 * sizeof(double)));
    bool finite = true;
    for (DicomFrame& frame : file.frames) {
        from >> frame.slope >> frame.intercept;
        finite = finite && std::isfinite(frame.slope) && std::isfinite(frame.intercept);
    }
    file.packing = static_cast<PixelPacking>(packing);
    if (!from.good() || !finite || index >= request.files.size()) return false;
    file.path = request.files[index];
    const bool native = file.packing == PixelPacking::NativeLittleEndian ||
                        file.packing == PixelPacking::NativeBigEndian;
    return native && l.rows >= 1 && l.rows <= largest_side && l.columns >= 1 &&
           l.columns <= largest_side && (l.bits_allocated == 8 || l.bits_allocated == 16) &&
           l.bits_stored >= 1 && l.bits_stored <= l.bits_allocated &&
           l.high_bit < l.bits_allocated && l.high_bit + 1 >= l.bits_stored &&
           file.pixel_offset < std::uint64_t{1} << 48 && file.frames.size() < 1u << 20;
}

bool take_files(Unpacker& from, const ReaderRequest& request, ParsedScan& parsed) {
    constexpr std::size_t least_bytes = 60;
    parsed.files.resize(from.count(least_bytes));
    for (DicomFile& file : parsed.files) {
        if (!take_file(from, request, file)) return false;
    }
    parsed.slices.resize(from.count(2 * sizeof(std::uint64_t)));
    const GridGeometry& g = parsed.scan.volume.geometry;
    for (StackSlice& slice : parsed.slices) {
        from >> slice.file >> slice.frame;
        if (slice.file >= parsed.files.size()) return false;
        const DicomFile& file = parsed.files[slice.file];
        if (slice.frame >= file.frames.size() || file.layout.columns != g.size[0] ||
            file.layout.rows != g.size[1]) {
            return false;
        }
    }
    return parsed.slices.size() == std::size_t(g.size[2]);
}

}  // namespace

std::string pack_request(const ReaderRequest& request) {
    Packer to;
    to << request.task << request.folder << request.where << request.series_uid << request.threads
       << std::uint64_t{request.voxel_limit} << std::uint64_t{request.files.size()};
    for (const auto& file : request.files) to << file.native();
    return to.bytes();
}

std::optional<ReaderRequest> unpack_request(std::string_view bytes) {
    Unpacker from(bytes);
    ReaderRequest request;
    std::uint8_t task = 0;
    from >> task >> request.folder >> request.where >> request.series_uid >> request.threads >>
        request.voxel_limit;
    request.task = static_cast<ReaderRequest::Task>(task);
    request.files.resize(from.count(sizeof(std::uint64_t)));
    for (auto& file : request.files) {
        std::string name;
        from >> name;
        file = name;
    }
    if (!from.finished()) return std::nullopt;
    return request;
}

std::string pack_parsed(const Result<ParsedScan>& parsed) {
    Packer to;
    to << parsed.has_value();
    if (!parsed) {
        put_error(to, parsed.error());
        return to.bytes();
    }
    const OpenedScan& scan = parsed->scan;
    put_geometry(to, scan.volume.geometry);
    to << scan.volume.slope << scan.volume.intercept << scan.volume.series_uid
       << scan.volume.invented << scan.source << scan.description << scan.encoding;
    for_each_member(scan.study, [&](const char*, const std::string& text) { to << text; });
    to << std::uint64_t{scan.problems.size()};
    for (const std::string& problem : scan.problems) to << problem;
    to << parsed->in_memory_file;
    if (parsed->in_memory_file) return to.bytes();
    to << std::uint64_t{parsed->files.size()};
    for (const DicomFile& file : parsed->files) put_file(to, file);
    to << std::uint64_t{parsed->slices.size()};
    for (const StackSlice& slice : parsed->slices) to << slice.file << slice.frame;
    return to.bytes();
}

std::optional<Result<ParsedScan>> unpack_parsed(std::string_view bytes,
                                                const ReaderRequest& request) {
    Unpacker from(bytes);
    bool succeeded = false;
    from >> succeeded;
    if (!succeeded) {
        Error error = take_error(from);
        if (!from.finished() || error.what.empty()) return std::nullopt;
        return tl::unexpected(std::move(error));
    }
    ParsedScan parsed;
    OpenedScan& scan = parsed.scan;
    scan.volume.geometry = take_geometry(from);
    from >> scan.volume.slope >> scan.volume.intercept >> scan.volume.series_uid >>
        scan.volume.invented >> scan.source >> scan.description >> scan.encoding;
    for_each_member(scan.study, [&](const char*, std::string& text) { from >> text; });
    scan.problems.resize(from.count(sizeof(std::uint64_t)));
    for (std::string& problem : scan.problems) from >> problem;
    from >> parsed.in_memory_file;
    if (!from.good() || !is_possible(scan.volume.geometry, request.voxel_limit) ||
        !std::isfinite(scan.volume.slope) || !std::isfinite(scan.volume.intercept) ||
        !is_possible(scan.study)) {
        return std::nullopt;
    }
    if (!parsed.in_memory_file && !take_files(from, request, parsed)) return std::nullopt;
    if (!from.finished()) return std::nullopt;
    return parsed;
}

std::string pack_listing(const Result<std::vector<SeriesInfo>>& listing) {
    Packer to;
    to << listing.has_value();
    if (!listing) {
        put_error(to, listing.error());
        return to.bytes();
    }
    to << std::uint64_t{listing->size()};
    for (const SeriesInfo& info : *listing)
        to << info.series_uid << info.description << info.slices;
    return to.bytes();
}

std::optional<Result<std::vector<SeriesInfo>>> unpack_listing(std::string_view bytes) {
    Unpacker from(bytes);
    bool succeeded = false;
    from >> succeeded;
    if (!succeeded) {
        Error error = take_error(from);
        if (!from.finished() || error.what.empty()) return std::nullopt;
        return tl::unexpected(std::move(error));
    }
    std::vector<SeriesInfo> listing(from.count(2 * sizeof(std::uint64_t)));
    for (SeriesInfo& info : listing) from >> info.series_uid >> info.description >> info.slices;
    if (!from.finished()) return std::nullopt;
    return listing;
}

}  // namespace anfract
