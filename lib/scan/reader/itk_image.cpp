#include "itk_image.h"

#include <zlib.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <fstream>
#include <optional>
#include <sstream>

#include "file_bytes.h"
#include "itk_reader.h"
#include "stored_range.h"

namespace anfract {
namespace {

constexpr const char* no_orientation =
    "The file does not say how it lies in the patient: left and right may be exchanged.";

tl::unexpected<Error> refuse(const std::filesystem::path& path, std::string what,
                             ErrorCode code = ErrorCode::BadInput) {
    return fail(code, std::move(what), path.string(), "export the scan again, or as DICOM");
}

/// The value of a field of an NRRD header [NRRD], its key in lower case; empty when it is not
/// there.
std::string nrrd_field(const std::filesystem::path& path, std::string_view wanted) {
    std::ifstream file(path, std::ios::binary);
    std::string line;
    for (int n = 0; n < 1000 && std::getline(file, line); ++n) {
        if (!line.empty() && line.back() == '\r') line.pop_back();
        if (line.empty()) break;
        const auto colon = line.find(':');
        if (colon == std::string::npos) continue;
        std::string key = line.substr(0, colon);
        for (char& c : key) c = char(std::tolower(static_cast<unsigned char>(c)));
        if (key == wanted)
            return line.substr(std::min(line.size(), line.find_first_not_of(' ', colon + 1)));
    }
    return {};
}

/// What an NRRD header leaves open or says otherwise than the library takes it; turns what it takes
/// wrongly: of a left-anterior-superior space ITK 5.2 turns x where y must be turned.
void mend_nrrd_space(const std::filesystem::path& path, ItkHeader& header,
                     std::vector<std::string>& problems) {
    const std::string space = nrrd_field(path, "space");
    const bool las = space == "left-anterior-superior" || space == "LAS";
    if (las) {
        for (std::size_t a : {0U, 1U}) {
            header.origin_mm[a] *= -1;
            for (auto& axis : header.axes) axis[a] *= -1;
        }
    }
    const bool known = las || space == "right-anterior-superior" || space == "RAS" ||
                       space == "left-posterior-superior" || space == "LPS";
    if (!known) problems.emplace_back(no_orientation);
}

/// The data file a detached NRRD header names must be an ordinary name beside it: a header from
/// elsewhere must not make us read other files of this machine.
std::string nrrd_data_file_problem(const std::filesystem::path& path, std::uint64_t& data_bytes) {
    std::string value = nrrd_field(path, "data file");
    if (value.empty()) value = nrrd_field(path, "datafile");
    if (value.empty()) return {};
    std::istringstream words(value);
    std::string name;
    std::string more;
    words >> name;
    if (words >> more || name == "LIST" || name.find('%') != std::string::npos) {
        return "its data are spread over several files, which is not read";
    }
    if (name.empty() || name.find('/') != std::string::npos ||
        name.find('\\') != std::string::npos || name[0] == '.') {
        return "its header names a data file that does not lie beside it";
    }
    const FileBytes data(path.parent_path() / name);
    if (!data.good()) return "its data file '" + name + "' is missing";
    data_bytes = data.size();
    return {};
}

/// True for the second version of NIfTI, which the library does not read: a header of 540 bytes
/// with the magic word at 4 [NIfTI2].
bool is_nifti_2(const std::filesystem::path& path) {
    std::array<char, 8> head{};
    const gzFile file = gzopen(path.c_str(), "rb");
    if (file == nullptr) return false;
    const int got = gzread(file, head.data(), unsigned(head.size()));
    gzclose(file);
    const std::string_view magic(head.data() + 4, 3);
    return got == int(head.size()) && (magic == "n+2" || magic == "ni2");
}

using NiftiHeader = std::array<unsigned char, 348>;

/// The header of a NIfTI file, packed or plain; false for a file that is shorter than one.
bool read_nifti_header(const std::filesystem::path& path, NiftiHeader& header, bool& packed) {
    const gzFile file = gzopen(path.c_str(), "rb");  // reads plain files as they are
    if (file == nullptr) return false;
    const int got = gzread(file, header.data(), unsigned(header.size()));
    packed = gzdirect(file) == 0;
    gzclose(file);
    return got == int(header.size());
}

/// A whole number of a NIfTI header.
std::uint32_t word_at(const NiftiHeader& header, std::size_t at, std::size_t bytes, bool big) {
    std::uint32_t value = 0;
    for (std::size_t b = 0; b < bytes; ++b)
        value = value << 8 | header[at + (big ? b : bytes - 1 - b)];
    return value;
}

/// Whether a NIfTI file is written with the high bytes first; nothing for one whose header's size
/// (at 0, always 348) and number of dimensions (at 40, 1 to 7) do not say the same of it [Cox2004]:
/// the library goes by the second alone.
std::optional<bool> high_bytes_first(const NiftiHeader& header) {
    for (const bool big : {false, true}) {
        const std::uint32_t dimensions = word_at(header, 40, 2, big);
        if (word_at(header, 0, 4, big) == header.size() && dimensions >= 1 && dimensions <= 7)
            return big;
    }
    return std::nullopt;
}

/// What is wrong with where a NIfTI file says it lies, or empty: on numbers that are not usable the
/// library stops the program or never returns, and lengths in other units it takes in part.
///
/// Header fields by offset [Cox2004]: 76 pixdim (8 numbers), 123 units, 252 and 254 the codes of
/// quaternion and affine, 256 quaternion and offset (6), 280 affine rows (12).
std::string nifti_place_problem(const std::filesystem::path& path,
                                std::vector<std::string>& problems) {
    NiftiHeader header{};
    bool packed = false;
    if (!read_nifti_header(path, header, packed)) return {};  // said by others
    const std::optional<bool> big = high_bytes_first(header);
    if (!big) return "its header is damaged";
    const int units = header[123] & 7;
    if (units == 1 || units == 3) return "its lengths are not in millimetres";
    if (header[252] + header[253] + header[254] + header[255] == 0)
        problems.emplace_back(no_orientation);
    const auto usable = [&](std::size_t first, std::size_t count) {
        for (std::size_t n = first; n < first + 4 * count; n += 4) {
            const float value = std::bit_cast<float>(word_at(header, n, 4, *big));
            if (!(std::abs(value) < 1e9F)) return false;
        }
        return true;
    };
    const std::array<unsigned char, 4> zero{};
    for (std::size_t n = 80; n < 92; n += 4) {
        if (std::equal(zero.begin(), zero.end(), header.begin() + long(n)))
            return "its voxels have no size";
    }
    if (!(usable(76, 8) && usable(256, 6) && usable(280, 12)))
        return "its voxel size or position is not a usable number";
    return {};
}

/// True when a NIfTI file ends before its voxels do, which the NIfTI library would fill with zeros
/// in silence.
///
/// Header fields by offset [Cox2004]: 72 bits per voxel, 108 start of the
/// voxels. A gzip file ends with its unpacked size modulo 2^32 [RFC1952, 2.3.1].
bool nifti_is_cut_off(const std::filesystem::path& path, std::size_t voxels) {
    NiftiHeader header{};
    bool packed = false;
    if (!read_nifti_header(path, header, packed)) return true;
    const std::optional<bool> big = high_bytes_first(header);
    if (!big) return true;
    const float start = std::bit_cast<float>(word_at(header, 108, 4, *big));
    if (!(start >= 0 && start < 1e9f)) return true;
    const std::uint64_t needed = std::uint64_t(start) + voxels * word_at(header, 72, 2, *big) / 8;
    const FileBytes bytes(path);
    if (!packed) return bytes.size() < needed;
    std::array<unsigned char, 4> end{};
    if (bytes.size() < 18 || bytes.read(end.data(), 4, bytes.size() - 4) != 4) return true;
    const std::uint32_t unpacked = std::uint32_t(end[0]) | std::uint32_t(end[1]) << 8 |
                                   std::uint32_t(end[2]) << 16 | std::uint32_t(end[3]) << 24;
    // A few bytes more are padding; anything else is no length but the middle of cut-off data.
    return unpacked - static_cast<std::uint32_t>(needed) > 65536;
}

/// Size, spacing, origin and right-handed axes. `flip_k` says that the slices must be turned round.
std::string read_geometry(const ItkHeader& header, GridGeometry& g, bool& flip_k) {
    if (header.dimensions < 2 || header.dimensions > 4) {
        return "it has " + std::to_string(header.dimensions) + " dimensions";
    }
    if (header.size[3] > 1) return "it is a sequence of volumes, not one";
    Mat3 direction = Mat3::Identity();
    for (std::size_t a = 0; a < std::min(header.dimensions, 3u); ++a) {
        if (header.size[a] < 1 || header.size[a] > 65535) return "its size is not possible";
        g.size[a] = int(header.size[a]);
        g.spacing_mm[int(a)] = header.spacing_mm[a];
        g.origin_P[int(a)] = header.origin_mm[a];
        for (std::size_t b = 0; b < 3; ++b) direction(int(b), int(a)) = header.axes[a][b];
    }
    if (header.dimensions == 2) {
        g.size[2] = 1;
        direction.col(2) = direction.col(0).cross(direction.col(1));
    }
    if (!(g.spacing_mm.minCoeff() > 0) || !g.spacing_mm.allFinite() || !g.origin_P.allFinite() ||
        !direction.allFinite()) {
        return "its voxel size or position is not a usable number";
    }
    if (!(direction.transpose() * direction).isApprox(Mat3::Identity(), 1e-3)) {
        return "its axes are not at right angles";
    }
    flip_k = direction.determinant() < 0;
    if (flip_k) {
        g.origin_P += direction.col(2) * g.spacing_mm.z() * (g.size[2] - 1);
        direction.col(2) *= -1;
    }
    // Take out what rounding in the file left of skewness.
    direction.col(1) =
        (direction.col(1) - direction.col(0) * direction.col(0).dot(direction.col(1)));
    direction.col(0).normalize();
    direction.col(1).normalize();
    direction.col(2) = direction.col(0).cross(direction.col(1));
    g.direction = direction;
    return {};
}

void flip_slices(Volume& volume) {
    const std::size_t slice = volume.geometry.index(0, 0, 1);
    const auto begin = volume.voxels.begin();
    for (std::size_t a = 0, b = std::size_t(volume.geometry.size[2]) - 1; a < b; ++a, --b) {
        std::swap_ranges(begin + a * slice, begin + (a + 1) * slice, begin + b * slice);
    }
}

template <class T>
std::string read_as(ItkReader& reader, OpenedScan& scan) {
    std::vector<T> values(scan.volume.geometry.voxel_count());
    if (auto what = reader.read_numbers(values.data()); !what.empty()) return what;
    if (const std::size_t odd = store_values(values, scan.volume); odd > 0) {
        scan.problems.push_back(
            std::to_string(odd) +
            " voxel(s) held no finite number and were set to the lowest grey value.");
    }
    return {};
}

std::string read_pixels(ItkReader& reader, NumberKind kind, OpenedScan& scan) {
    switch (kind) {
        case NumberKind::Int16:
            scan.volume.voxels = Voxels(scan.volume.geometry.voxel_count());
            return reader.read_numbers(scan.volume.voxels.data());
        case NumberKind::Uint16:
            return read_as<std::uint16_t>(reader, scan);
        case NumberKind::Uint8:
            return read_as<std::uint8_t>(reader, scan);
        case NumberKind::Int8:
            return read_as<std::int8_t>(reader, scan);
        case NumberKind::Int32:
            return read_as<std::int32_t>(reader, scan);
        case NumberKind::Uint32:
            return read_as<std::uint32_t>(reader, scan);
        case NumberKind::Float:
            return read_as<float>(reader, scan);
        case NumberKind::Double:
            return read_as<double>(reader, scan);
        case NumberKind::Other:
            break;
    }
    return "its kind of numbers is not read";
}

}  // namespace

ItkFormat itk_format_of(const std::filesystem::path& path) {
    const FileBytes file(path);
    std::string head(352, '\0');
    head.resize(file.good() ? file.read(head.data(), head.size(), 0) : 0);
    if (head.compare(0, 6, "NRRD00") == 0) return ItkFormat::Nrrd;
    const std::string name = path.filename().string();
    const auto ends_with = [&](std::string_view end) {
        return name.size() > end.size() &&
               name.compare(name.size() - end.size(), end.size(), end) == 0;
    };
    const bool zipped = head.compare(0, 2, "\x1F\x8B") == 0;
    const bool magic = head.size() >= 348 &&
                       (head.compare(344, 3, "n+1") == 0 || head.compare(344, 3, "ni1") == 0);
    const bool second =
        head.size() > 7 && (head.compare(4, 3, "n+2") == 0 || head.compare(4, 3, "ni2") == 0);
    if ((zipped && ends_with(".nii.gz")) || ((magic || second) && ends_with(".nii")))
        return ItkFormat::Nifti;
    return ItkFormat::None;
}

Result<OpenedScan> read_itk_image(const std::filesystem::path& path, ItkFormat format,
                                  std::size_t voxel_limit) {
    const bool nrrd = format == ItkFormat::Nrrd;
    std::uint64_t data_bytes = FileBytes(path).size();
    if (nrrd) {
        if (auto what = nrrd_data_file_problem(path, data_bytes); !what.empty())
            return refuse(path, what);
    }
    if (!nrrd && is_nifti_2(path)) {
        return fail(ErrorCode::Unsupported, "NIfTI-2 is not read", path.string(),
                    "convert the file to NIfTI-1");
    }
    OpenedScan scan;
    if (!nrrd) {
        if (auto what = nifti_place_problem(path, scan.problems); !what.empty())
            return refuse(path, what);
    }
    ItkReader reader(path, nrrd);
    ItkHeader header;
    if (auto what = reader.read_header(header); !what.empty()) return refuse(path, what);
    if (header.components != 1) return refuse(path, "it is a colour or vector image, not a scan");
    if (nrrd) mend_nrrd_space(path, header, scan.problems);
    scan.source = nrrd ? "NRRD" : "NIfTI";
    bool flip_k = false;
    if (auto what = read_geometry(header, scan.volume.geometry, flip_k); !what.empty()) {
        return refuse(path, what);
    }
    const std::size_t count = scan.volume.geometry.voxel_count();
    if (count > voxel_limit) {
        return refuse(path, "it has more voxels than can be read", ErrorCode::Unsupported);
    }
    // Deflate packs no tighter than 1032:1, so less data than this cannot hold the image.
    if (count / 1032 > data_bytes || (!nrrd && nifti_is_cut_off(path, count))) {
        return refuse(path, "its data are cut off");
    }
    if (auto what = read_pixels(reader, header.numbers, scan); !what.empty())
        return refuse(path, what);
    if (flip_k) flip_slices(scan.volume);
    return scan;
}

}  // namespace anfract
