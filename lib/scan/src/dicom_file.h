#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "anfract/geometry/vec.h"
#include "anfract/scan/dicom_study.h"

namespace anfract {

/// How stored values lie in the bytes of a frame [DICOM PS3.3, C.7.6.3].
struct PixelLayout {
    int rows = 0;
    int columns = 0;
    int bits_allocated = 0;
    int bits_stored = 0;
    int high_bit = 0;
    bool is_signed = false;

    std::size_t pixels() const { return std::size_t(rows) * std::size_t(columns); }
    std::size_t frame_bytes() const { return pixels() * std::size_t(bits_allocated / 8); }
};

/// One slice: a frame of a file and its place in the patient.
struct DicomFrame {
    bool has_position = false;
    bool has_orientation = false;
    Vec3 position_P{0, 0, 0};     ///< centre of the first pixel
    Vec3 along_row_P{1, 0, 0};    ///< unit vector of increasing column index
    Vec3 down_column_P{0, 1, 0};  ///< unit vector of increasing row index
    double column_step_mm = 0;    ///< distance of neighbours along a row; 0 when not given
    double row_step_mm = 0;
    double thickness_mm = 0;  ///< spacing between slices or, failing that, slice thickness
    double slope = 1;
    double intercept = 0;
};

/// How the pixel bytes are packed.
enum class PixelPacking { NativeLittleEndian, NativeBigEndian, Deflated, DcmtkCodec, Jpeg2000 };

/// What the header of one DICOM image file says.
struct DicomFile {
    std::filesystem::path path;
    std::size_t number = 0;  ///< among the files that were looked at
    std::string series_uid;
    std::string sop_uid;
    DicomStudy study;
    std::string description;
    std::string comments;
    std::string encoding;  ///< name of the transfer syntax
    std::string colour;    ///< Photometric Interpretation
    int instance_number = 0;
    bool lossy = false;
    PixelPacking packing = PixelPacking::NativeLittleEndian;
    PixelLayout layout;
    std::uint64_t pixel_offset =
        0;  ///< of the first pixel byte in the file (in the inflated data set)
    std::uint64_t pixel_bytes = 0;  ///< of native pixel data, as the element says
    std::vector<DicomFrame> frames;
};

/// What came of looking at one file.
struct DicomLook {
    enum class Kind { NotDicom, NoImage, Broken, Unsupported, Image };
    Kind kind = Kind::NotDicom;
    std::string complaint;  ///< for Broken and Unsupported: what is wrong, as in Error::what
    DicomFile file;         ///< for Image
};

/// Parses the header of a file up to its pixel data. Never throws; reads no more of the file than
/// it needs.
DicomLook look_at_dicom(const std::filesystem::path& path);

/// Silences DCMTK's log and registers its decoders, once per process.
void prepare_dcmtk();

}  // namespace anfract
