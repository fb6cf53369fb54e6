#include "anfract/exchange/dicom_scan.h"

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>

#include <array>
#include <cstdio>
#include <vector>

#include "dicom_parts.h"

namespace anfract {
using namespace dicom;

namespace {

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

std::string new_uid() {
    std::array<char, 100> uid{};
    return dcmGenerateUniqueIdentifier(uid.data(), SITE_INSTANCE_UID_ROOT);
}

/// Every type 1 and 2 attribute of the CT Image IOD (PS3.3, A.3), those of type 2 empty where a
/// value could tell something.
std::vector<Entry> series_entries(const Volume& volume, const std::string& pseudonym,
                                  const PseudonymousScan& ids) {
    const GridGeometry& grid = volume.geometry;
    return {
        {DCM_PatientName, pseudonym},
        {DCM_PatientID, pseudonym},
        {DCM_PatientBirthDate, ""},
        {DCM_PatientSex, ""},
        {DCM_StudyInstanceUID, ids.study_uid},
        {DCM_StudyDate, ""},
        {DCM_StudyTime, ""},
        {DCM_ReferringPhysicianName, ""},
        {DCM_StudyID, ""},
        {DCM_AccessionNumber, ""},
        {DCM_Modality, "CT"},
        {DCM_SeriesInstanceUID, ids.series_uid},
        {DCM_SeriesNumber, "1"},
        {DCM_BodyPartExamined, "JAW"},
        {DCM_PatientPosition, "HFS"},
        {DCM_FrameOfReferenceUID, ids.frame_uid},
        {DCM_PositionReferenceIndicator, ""},
        {DCM_Manufacturer, ""},
        {DCM_LongitudinalTemporalInformationModified, "REMOVED"},
        {DCM_ImageType, "DERIVED\\SECONDARY\\AXIAL"},
        {DCM_AcquisitionNumber, ""},
        {DCM_PixelSpacing, decimal(grid.spacing_mm.y()) + "\\" + decimal(grid.spacing_mm.x())},
        {DCM_SliceThickness, decimal(grid.spacing_mm.z())},
        {DCM_ImageOrientationPatient,
         decimals(grid.direction.col(0)) + "\\" + decimals(grid.direction.col(1))},
        {DCM_PhotometricInterpretation, "MONOCHROME2"},
        {DCM_RescaleIntercept, decimal(volume.intercept)},
        {DCM_RescaleSlope, decimal(volume.slope)},
        {DCM_RescaleType, "US"},  // unspecified: cone-beam greys need not be Hounsfield units
        {DCM_KVP, ""},
    };
}

OFCondition fill_slice(DcmDataset& data, const Volume& volume, int k) {
    const GridGeometry& grid = volume.geometry;
    OFCondition condition =
        put(data, {{DCM_SOPClassUID, UID_CTImageStorage},
                   {DCM_SOPInstanceUID, new_uid()},
                   {DCM_InstanceNumber, std::to_string(k + 1)},
                   {DCM_ImagePositionPatient, decimals(grid.to_patient(Vec3(0, 0, k)))}});
    const std::array<std::pair<DcmTagKey, int>, 7> numbers{{{DCM_SamplesPerPixel, 1},
                                                            {DCM_Rows, grid.size[1]},
                                                            {DCM_Columns, grid.size[0]},
                                                            {DCM_BitsAllocated, 16},
                                                            {DCM_BitsStored, 16},
                                                            {DCM_HighBit, 15},
                                                            {DCM_PixelRepresentation, 1}}};
    for (const auto& [tag, value] : numbers) {
        if (condition.good()) condition = data.putAndInsertUint16(tag, static_cast<Uint16>(value));
    }
    const std::size_t count = std::size_t(grid.size[0]) * std::size_t(grid.size[1]);
    std::vector<Uint16> pixels(count);
    for (std::size_t i = 0; i < count; ++i)
        pixels[i] = static_cast<Uint16>(volume.voxels[std::size_t(k) * count + i]);
    if (condition.good())
        condition = data.putAndInsertUint16Array(DCM_PixelData, pixels.data(), count);
    return condition;
}

}  // namespace

Result<PseudonymousScan> write_pseudonymous_scan(const Volume& volume, const std::string& pseudonym,
                                                 const std::filesystem::path& folder,
                                                 const Progress& progress) {
    const PseudonymousScan ids{new_uid(), new_uid(), new_uid()};
    const std::vector<Entry> series = series_entries(volume, pseudonym, ids);
    const int slices = volume.geometry.size[2];
    for (int k = 0; k < slices; ++k) {
        if (progress.cancelled()) return fail(ErrorCode::Cancelled, "stopped before the end");
        progress.report(static_cast<double>(k) / slices, "writing slices");
        std::array<char, 32> name{};
        std::snprintf(name.data(), name.size(), "slice%04d.dcm", k + 1);
        DcmFileFormat file;
        OFCondition condition = put(*file.getDataset(), series);
        if (condition.good())
            condition = mark_without_patient(*file.getDataset(), "written anew from the voxels");
        if (condition.good()) condition = fill_slice(*file.getDataset(), volume, k);
        if (condition.good())
            condition = file.saveFile((folder / name.data()).c_str(), EXS_LittleEndianExplicit);
        if (condition.bad()) {
            return fail(ErrorCode::Io,
                        std::string("the scan cannot be written (") + condition.text() + ")",
                        folder.string(), "check the room on the disk, or choose another folder");
        }
    }
    return ids;
}

}  // namespace anfract
