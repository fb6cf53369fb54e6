#include <algorithm>

#include "dicom_parts.h"

namespace anfract::dicom {

Result<DicomObject> picture_object(const Plan& plan, const DicomSubject& subject,
                                   const std::string& document, const DicomPicture& picture) {
    const std::size_t wanted = std::size_t(std::max(0, picture.width_px)) *
                               std::size_t(std::max(0, picture.height_px)) * 3;
    if (wanted == 0 || picture.rgb.size() != wanted || picture.width_px > 65535 ||
        picture.height_px > 65535)
        return fail(ErrorCode::BadInput, "is not a picture", picture.name, "");
    DcmFileFormat format;
    DcmDataset& data = *format.getDataset();
    std::string even = picture.rgb;
    if (even.size() % 2 != 0) even += '\0';
    const auto number = [&](const DcmTagKey& tag, int value) {
        return data.putAndInsertUint16(tag, Uint16(value)).good();
    };
    const bool good =
        put(data, common_entries(plan, subject, document)).good() &&
        put(data, {{DCM_SOPClassUID, UID_SecondaryCaptureImageStorage},
                   {DCM_SOPInstanceUID, uid_of(document, "picture " + picture.name)},
                   {DCM_SeriesInstanceUID, uid_of(document, "picture series")},
                   {DCM_SeriesNumber, "9004"},
                   {DCM_SeriesDescription, "Pictures of the root canal plan"},
                   {DCM_Modality, "OT"},
                   {DCM_ConversionType, "WSD"},
                   {DCM_ImageType, "DERIVED\\SECONDARY"},
                   {DCM_PatientOrientation, ""},
                   {DCM_Laterality, ""},
                   {DCM_BurnedInAnnotation, "NO"},
                   {DCM_DerivationDescription, picture.title},
                   {DCM_ImageComments, picture.title},
                   {DCM_PhotometricInterpretation, "RGB"}})
            .good() &&
        number(DCM_SamplesPerPixel, 3) && number(DCM_PlanarConfiguration, 0) &&
        number(DCM_Rows, picture.height_px) && number(DCM_Columns, picture.width_px) &&
        number(DCM_BitsAllocated, 8) && number(DCM_BitsStored, 8) && number(DCM_HighBit, 7) &&
        number(DCM_PixelRepresentation, 0) &&
        data.putAndInsertUint8Array(DCM_PixelData, reinterpret_cast<const Uint8*>(even.data()),
                                    even.size())
            .good();
    if (!good) return fail(ErrorCode::BadInput, "the picture cannot be made a DICOM object");
    auto bytes = file_bytes_of(format, subject);
    if (!bytes) return tl::unexpected(bytes.error());
    return DicomObject{picture.name + ".dcm", std::move(*bytes)};
}

}  // namespace anfract::dicom
