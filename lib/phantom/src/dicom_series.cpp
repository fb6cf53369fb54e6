// The scan as CT images: the modules of the CT Image IOD (DICOM PS3.3, A.3) with every type 1 and 2
// attribute.

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>

#include <array>
#include <cmath>
#include <cstdio>

#include "anfract/phantom/phantom_file.h"

namespace anfract {

namespace {

// Stored values are unsigned, as those of many scanners: grey = stored - 2000.
constexpr int stored_zero = 2000;

// Decimal strings have at most 16 characters (PS3.5, 6.2).
std::string decimal(double value) {
    std::array<char, 32> text{};
    for (int digits = 12; digits > 0; --digits) {
        std::snprintf(text.data(), text.size(), "%.*g", digits, value);
        if (std::string(text.data()).size() <= 16) break;
    }
    return text.data();
}

std::string decimals(const Vec3& v) {
    return decimal(v.x()) + "\\" + decimal(v.y()) + "\\" + decimal(v.z());
}

struct Entry {
    DcmTagKey tag;
    std::string value;
};

std::vector<Entry> series_entries(const Phantom& phantom) {
    const PhantomOptions& o = phantom.options;
    const GridGeometry& grid = phantom.volume.geometry;
    const std::string id = o.kind + "-" + std::to_string(o.seed);
    return {
        // Patient and General Study
        {DCM_PatientName, "Invented^Case"},
        {DCM_PatientID, "INVENTED-" + id},
        {DCM_PatientBirthDate, ""},
        {DCM_PatientSex, "O"},
        {DCM_PatientComments, "invented data, made by a phantom; not a patient"},
        {DCM_StudyInstanceUID, phantom_uid(o, "study")},
        {DCM_StudyDate, "20260101"},
        {DCM_StudyTime, "120000"},
        {DCM_ReferringPhysicianName, ""},
        {DCM_StudyID, "1"},
        {DCM_AccessionNumber, ""},
        {DCM_StudyDescription, "Invented tooth " + phantom.design.fdi},
        // General Series, Frame of Reference, General Equipment
        {DCM_Modality, "CT"},
        {DCM_SeriesInstanceUID, phantom_uid(o, "series")},
        {DCM_SeriesNumber, "1"},
        {DCM_SeriesDescription, "Invented " + id + (o.metal ? " with metal" : "")},
        {DCM_BodyPartExamined, "JAW"},
        {DCM_PatientPosition, "HFS"},
        {DCM_FrameOfReferenceUID, phantom_uid(o, "frame of reference")},
        {DCM_PositionReferenceIndicator, ""},
        {DCM_Manufacturer, "Anfract phantom (invented data)"},
        {DCM_ManufacturerModelName, "virtual scanner"},
        {DCM_SoftwareVersions, "1"},
        // General Image, Image Plane, CT Image
        {DCM_ImageType, "ORIGINAL\\PRIMARY\\AXIAL"},
        {DCM_AcquisitionNumber, "1"},
        {DCM_ImageComments, "invented data, made by a phantom; not a patient"},
        {DCM_QualityControlImage, "YES"},  // a phantom image in the sense of PS3.3 C.7.6.1
        {DCM_BurnedInAnnotation, "NO"},
        {DCM_LossyImageCompression, "00"},
        {DCM_PixelSpacing, decimal(grid.spacing_mm.y()) + "\\" + decimal(grid.spacing_mm.x())},
        {DCM_SliceThickness, decimal(grid.spacing_mm.z())},
        {DCM_ImageOrientationPatient,
         decimals(grid.direction.col(0)) + "\\" + decimals(grid.direction.col(1))},
        {DCM_PhotometricInterpretation, "MONOCHROME2"},
        {DCM_RescaleIntercept, decimal(-stored_zero)},
        {DCM_RescaleSlope, "1"},
        {DCM_RescaleType, "HU"},  // the only one the standard allows for original CT images
        {DCM_KVP, ""},
        {DCM_WindowCenter, "1000"},
        {DCM_WindowWidth, "4000"},
    };
}

OFCondition fill(DcmDataset& data, const std::vector<Entry>& entries) {
    OFCondition condition = EC_Normal;
    for (const Entry& entry : entries) {
        if (condition.good()) condition = data.putAndInsertString(entry.tag, entry.value.c_str());
    }
    return condition;
}

OFCondition fill_slice(DcmDataset& data, const Phantom& phantom, int k) {
    const GridGeometry& grid = phantom.volume.geometry;
    const Vec3 corner = grid.to_patient(Vec3(0, 0, k));
    OFCondition condition = fill(
        data, {{DCM_SOPClassUID, UID_CTImageStorage},
               {DCM_SOPInstanceUID, phantom_uid(phantom.options, "slice " + std::to_string(k))},
               {DCM_InstanceNumber, std::to_string(k + 1)},
               {DCM_ImagePositionPatient, decimals(corner)},
               {DCM_SliceLocation, decimal(corner.dot(grid.direction.col(2)))}});
    const std::array<std::pair<DcmTagKey, int>, 7> numbers{{{DCM_SamplesPerPixel, 1},
                                                            {DCM_Rows, grid.size[1]},
                                                            {DCM_Columns, grid.size[0]},
                                                            {DCM_BitsAllocated, 16},
                                                            {DCM_BitsStored, 16},
                                                            {DCM_HighBit, 15},
                                                            {DCM_PixelRepresentation, 0}}};
    for (const auto& [tag, value] : numbers) {
        if (condition.good()) condition = data.putAndInsertUint16(tag, static_cast<Uint16>(value));
    }
    const auto count =
        static_cast<std::size_t>(grid.size[0]) * static_cast<std::size_t>(grid.size[1]);
    std::vector<Uint16> pixels(count);
    const std::int16_t* const from =
        phantom.volume.voxels.data() + static_cast<std::size_t>(k) * count;
    for (std::size_t i = 0; i < count; ++i) pixels[i] = static_cast<Uint16>(from[i] + stored_zero);
    if (condition.good())
        condition = data.putAndInsertUint16Array(DCM_PixelData, pixels.data(), count);
    return condition;
}

// DCMTK does not say that the disk is full, which is the usual reason.
tl::unexpected<Error> cannot_write(const OFCondition& condition,
                                   const std::filesystem::path& folder) {
    std::error_code error;
    const std::filesystem::space_info space = std::filesystem::space(folder, error);
    const bool full = !error && space.available < (std::uintmax_t{1} << 20);
    return fail(ErrorCode::Io,
                std::string("the scan cannot be written: ") +
                    (full ? "No space left on device" : condition.text()),
                folder.string(), "free space or choose another folder");
}

}  // namespace

Result<void> write_dicom_series(const Phantom& phantom, const std::filesystem::path& folder,
                                const Progress& progress) {
    const std::vector<Entry> series = series_entries(phantom);
    const int slices = phantom.volume.geometry.size[2];
    for (int k = 0; k < slices; ++k) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped");
        progress.report(static_cast<double>(k) / slices, "writing slices");
        std::array<char, 32> name{};
        std::snprintf(name.data(), name.size(), "slice%04d.dcm", k + 1);
        const std::filesystem::path path = folder / name.data();
        DcmFileFormat file;
        OFCondition condition = fill(*file.getDataset(), series);
        if (condition.good()) condition = fill_slice(*file.getDataset(), phantom, k);
        if (condition.good()) condition = file.saveFile(path.c_str(), EXS_LittleEndianExplicit);
        if (condition.bad()) return cannot_write(condition, folder);
    }
    return {};
}

}  // namespace anfract
