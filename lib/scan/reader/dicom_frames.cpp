#include "dicom_frames.h"

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>

namespace anfract {
namespace {

constexpr int most_frames = 32768;

std::optional<Vec3> vector_at(DcmItem& item, const DcmTagKey& tag, unsigned long first) {
    Vec3 v;
    for (unsigned long a = 0; a < 3; ++a) {
        if (item.findAndGetFloat64(tag, v[int(a)], first + a).bad()) return std::nullopt;
    }
    if (!v.allFinite()) return std::nullopt;
    return v;
}

/// Takes over what `item` itself says about place and scale; what it does not say is left alone.
void read_place(DcmItem& item, DicomFrame& frame) {
    if (const auto position = vector_at(item, DCM_ImagePositionPatient, 0)) {
        frame.position_P = *position;
        frame.has_position = true;
    }
    const auto row = vector_at(item, DCM_ImageOrientationPatient, 0);
    const auto column = vector_at(item, DCM_ImageOrientationPatient, 3);
    if (row && column && row->norm() > 0.5 && column->norm() > 0.5) {
        frame.along_row_P = row->normalized();
        frame.down_column_P = column->normalized();
        frame.has_orientation = true;
    }
}

void read_measures(DcmItem& item, DicomFrame& frame) {
    double value = 0;
    // Pixel Spacing is row spacing first, then column spacing [DICOM PS3.3, 10.7.1.3].
    if (item.findAndGetFloat64(DCM_PixelSpacing, value, 0).good()) frame.row_step_mm = value;
    if (item.findAndGetFloat64(DCM_PixelSpacing, value, 1).good()) frame.column_step_mm = value;
    if (item.findAndGetFloat64(DCM_SliceThickness, value).good() && std::isfinite(value))
        frame.thickness_mm = std::abs(value);
    const bool spaced = item.findAndGetFloat64(DCM_SpacingBetweenSlices, value).good();
    if (spaced && value != 0 && std::isfinite(value)) frame.thickness_mm = std::abs(value);
}

void read_scale(DcmItem& item, DicomFrame& frame) {
    double value = 0;
    if (item.findAndGetFloat64(DCM_RescaleSlope, value).good()) frame.slope = value;
    if (item.findAndGetFloat64(DCM_RescaleIntercept, value).good()) frame.intercept = value;
}

/// With a slope of 0 all tissue would have one grey value.
bool has_scale(const DicomFrame& frame) {
    return std::isfinite(frame.slope) && frame.slope != 0 && std::isfinite(frame.intercept);
}

/// Reads the functional group macros of one item, shared or per frame [DICOM PS3.3, C.7.6.16].
void read_groups(DcmItem& groups, DicomFrame& frame) {
    DcmItem* item = nullptr;
    if (groups.findAndGetSequenceItem(DCM_PlanePositionSequence, item).good())
        read_place(*item, frame);
    if (groups.findAndGetSequenceItem(DCM_PlaneOrientationSequence, item).good())
        read_place(*item, frame);
    if (groups.findAndGetSequenceItem(DCM_PixelMeasuresSequence, item).good())
        read_measures(*item, frame);
    if (groups.findAndGetSequenceItem(DCM_PixelValueTransformationSequence, item).good()) {
        read_scale(*item, frame);
    }
}

/// Slices of an older multi-frame object lie along the normal from the first, GridFrameOffsetVector
/// or SpacingBetweenSlices apart. A negative spacing stacks them against the normal [DICOM PS3.3,
/// C.8.4.15, from memory].
void spread_frames(DcmItem& dataset, const DicomFrame& first, std::vector<DicomFrame>& frames) {
    const Vec3 normal = first.along_row_P.cross(first.down_column_P);
    double between_mm = 0;
    const bool backwards =
        dataset.findAndGetFloat64(DCM_SpacingBetweenSlices, between_mm).good() && between_mm < 0;
    const double step_mm = backwards ? -first.thickness_mm : first.thickness_mm;
    for (std::size_t n = 1; n < frames.size(); ++n) {
        double offset_mm = double(n) * step_mm;
        double listed = 0;
        if (dataset
                .findAndGetFloat64(DCM_GridFrameOffsetVector, listed, static_cast<unsigned long>(n))
                .good()) {
            double start = 0;
            dataset.findAndGetFloat64(DCM_GridFrameOffsetVector, start, 0);
            offset_mm = listed - start;
        }
        frames[n].position_P = first.position_P + offset_mm * normal;
        if (offset_mm == 0) frames[n].has_position = false;
    }
}

std::optional<std::vector<DicomFrame>> placed_frames(DcmItem& dataset, std::string& complaint) {
    DicomFrame common;
    read_place(dataset, common);
    read_measures(dataset, common);
    read_scale(dataset, common);
    DcmItem* item = nullptr;
    // Nuclear-medicine style multi-frame objects keep the place of the first slice here.
    if (dataset.findAndGetSequenceItem(DCM_DetectorInformationSequence, item).good())
        read_place(*item, common);
    if (dataset.findAndGetSequenceItem(DCM_SharedFunctionalGroupsSequence, item).good()) {
        read_groups(*item, common);
    }
    Sint32 count = 1;
    // DCMTK sets the value to 0 when the element is missing.
    if (dataset.findAndGetSint32(DCM_NumberOfFrames, count).bad()) count = 1;
    if (count < 1 || count > most_frames) {
        complaint = "the number of frames is " + std::to_string(count);
        return std::nullopt;
    }
    std::vector<DicomFrame> frames(std::size_t(count), common);
    DcmSequenceOfItems* per_frame = nullptr;
    if (dataset.findAndGetSequence(DCM_PerFrameFunctionalGroupsSequence, per_frame).bad()) {
        spread_frames(dataset, common, frames);
        return frames;
    }
    std::size_t n = 0;
    for (DcmObject* o = per_frame->nextInContainer(nullptr); o != nullptr && n < frames.size();
         o = per_frame->nextInContainer(o)) {
        if (auto* groups = dynamic_cast<DcmItem*>(o)) read_groups(*groups, frames[n++]);
    }
    if (n != frames.size()) {
        complaint = "it describes " + std::to_string(n) + " frames but says it has " +
                    std::to_string(frames.size());
        return std::nullopt;
    }
    return frames;
}

}  // namespace

std::optional<std::vector<DicomFrame>> frames_of(DcmItem& dataset, std::string& complaint) {
    auto frames = placed_frames(dataset, complaint);
    if (frames && !std::all_of(frames->begin(), frames->end(), has_scale)) {
        complaint = "its Rescale Slope or Intercept gives no grey values";
        return std::nullopt;
    }
    return frames;
}

}  // namespace anfract
