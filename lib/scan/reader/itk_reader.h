#pragma once

#include <array>
#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>

namespace anfract {

/// The kinds of numbers that are read.
enum class NumberKind { Int8, Uint8, Int16, Uint16, Int32, Uint32, Float, Double, Other };

/// What an image file says about its grid, in ITK's convention: DICOM LPS, mm.
struct ItkHeader {
    unsigned dimensions = 0;
    std::array<std::size_t, 4> size{1, 1, 1, 1};
    std::array<double, 3> spacing_mm{1, 1, 1};
    std::array<double, 3> origin_mm{0, 0, 0};
    std::array<std::array<double, 3>, 3> axes{};  ///< axes[a]: unit vector of voxel axis a
    unsigned components = 1;
    NumberKind numbers = NumberKind::Other;
};

/// The only source that includes ITK, which brings an Eigen of its own and takes long to compile.
class ItkReader {
  public:
    ItkReader(const std::filesystem::path& path, bool nrrd);
    ItkReader(const ItkReader&) = delete;
    ItkReader& operator=(const ItkReader&) = delete;
    ~ItkReader();

    /// Both give an empty text, or what is wrong.
    std::string read_header(ItkHeader& header);
    /// @pre read_header succeeded; `to` has room for every number of the image
    std::string read_numbers(void* to);

  private:
    struct Parts;
    std::unique_ptr<Parts> parts_;
};

}  // namespace anfract
