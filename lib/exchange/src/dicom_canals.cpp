#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmfg/fgfracon.h>
#include <dcmtk/dcmfg/fgpixmsr.h>
#include <dcmtk/dcmfg/fgplanor.h>
#include <dcmtk/dcmfg/fgplanpo.h>
#include <dcmtk/dcmseg/segdoc.h>
#include <dcmtk/dcmseg/segment.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>

#include "dicom_parts.h"
#include "level_set.h"
#include "tube.h"

namespace anfract::dicom {
namespace {

/// Voxels along the patient's axes: voxel (i, j, k) is centred at (i, j, k) * spacing_mm.
struct Block {
    double spacing_mm = 0;
    std::array<int, 3> first{}, size{};
};

std::vector<const Canal*> canals_of(const Tooth& tooth) {
    std::vector<const Canal*> canals;
    for (const Canal& canal : tooth.canals) {
        if (canal.samples.size() >= 2) canals.push_back(&canal);
    }
    return canals;
}

/// A third of the narrowest width, within what is worth its room.
Block block_round(const std::vector<const Canal*>& canals) {
    Vec3 low = canals.front()->samples.front().point_P, high = low;
    double narrowest_mm = 1, widest_mm = 0;
    for (const Canal* canal : canals) {
        for (const CanalSample& sample : canal->samples) {
            low = low.cwiseMin(sample.point_P);
            high = high.cwiseMax(sample.point_P);
            narrowest_mm = std::min(narrowest_mm, sample.diameter_mm);
            widest_mm = std::max({widest_mm, sample.diameter_mm, sample.diameter_long_mm});
        }
    }
    Block block;
    block.spacing_mm = std::clamp(std::floor(narrowest_mm / 3 * 100) / 100, 0.05, 0.1);
    for (int a = 0; a < 3; ++a) {
        const double room_mm = widest_mm / 2 + 2 * block.spacing_mm;
        block.first[std::size_t(a)] = int(std::floor((low[a] - room_mm) / block.spacing_mm));
        block.size[std::size_t(a)] = int(std::ceil((high[a] + room_mm) / block.spacing_mm)) -
                                     block.first[std::size_t(a)] + 1;
    }
    return block;
}

OFString number(double value) {
    char text[17];  // a decimal string has at most 16 characters [DICOM PS3.5, 6.2]
    std::snprintf(text, sizeof text, "%.8g", value);
    return text;
}

/// Collects whether every call of the library went well.
class Good {
  public:
    void operator()(const OFCondition& condition) { all_ = all_ && condition.good(); }
    explicit operator bool() const { return all_; }

  private:
    bool all_ = true;
};

bool add_segment(DcmSegmentation& object, const Plan& plan, const Canal& canal, Uint16& number_of) {
    DcmSegment* segment = nullptr;
    // Category from [DICOM PS3.16, CID 7150]; there is no code for a root canal to be had freely.
    const CodeSequenceMacro category("91723000", "SCT", "Anatomical Structure"),
        type("canal", own_scheme, "Root canal of a tooth");
    Good good;
    good(DcmSegment::create(
        segment, canal.name.c_str(), category, type,
        canal.by_hand ? DcmSegTypes::SAT_SEMIAUTOMATIC : DcmSegTypes::SAT_AUTOMATIC, "Anfract"));
    if (segment == nullptr) return false;
    std::string text = "Tooth " + plan.tooth.fdi + ", canal " + canal.name;
    if (canal.presence) {
        char words[64];
        std::snprintf(words, sizeof words, "; exists with probability %.2f", *canal.presence);
        text += words;
    }
    good(segment->setSegmentDescription(text.c_str()));
    good(object.addSegment(segment, number_of));
    return bool(good);
}

/// The slices of one canal that hold some of it.
bool add_frames(DcmSegmentation& object, const Canal& canal, const Block& block, Uint16 segment) {
    const exchange::LevelSet solid(exchange::canal_tube(canal, 0, 0), block.spacing_mm);
    std::vector<std::uint8_t> voxels = solid.inside(block.first, block.size);
    const std::size_t slice = std::size_t(block.size[0]) * std::size_t(block.size[1]);
    FGFrameContent content;
    Good good;
    for (int k = 0; k < block.size[2]; ++k) {
        std::uint8_t* const pixels = voxels.data() + slice * std::size_t(k);
        if (std::none_of(pixels, pixels + slice, [](std::uint8_t v) { return v != 0; })) continue;
        const std::unique_ptr<FGPlanePosPatient> position(FGPlanePosPatient::createMinimal(
            number(block.first[0] * block.spacing_mm), number(block.first[1] * block.spacing_mm),
            number((block.first[2] + k) * block.spacing_mm)));
        good(content.setDimensionIndexValues(segment, 0));
        good(content.setDimensionIndexValues(Uint32(k + 1), 1));
        OFVector<FGBase*> groups;
        groups.push_back(&content);
        groups.push_back(position.get());
        good(object.addFrame(pixels, segment, groups));
        if (!good) return false;
    }
    return bool(good);
}

bool add_geometry(DcmSegmentation& object, const Block& block, const std::string& dimension_uid) {
    Good good;
    FGPixelMeasures measures;
    good(measures.setPixelSpacing(number(block.spacing_mm) + "\\" + number(block.spacing_mm)));
    good(measures.setSliceThickness(number(block.spacing_mm)));
    good(measures.setSpacingBetweenSlices(number(block.spacing_mm)));
    good(object.addForAllFrames(measures));
    const std::unique_ptr<FGPlaneOrientationPatient> along(
        FGPlaneOrientationPatient::createMinimal("1", "0", "0", "0", "1", "0"));
    good(object.addForAllFrames(*along));
    IODMultiframeDimensionModule& dimensions = object.getDimensions();
    good(dimensions.addDimensionIndex(DCM_ReferencedSegmentNumber, dimension_uid.c_str(),
                                      DCM_SegmentIdentificationSequence, "Canal"));
    good(dimensions.addDimensionIndex(DCM_ImagePositionPatient, dimension_uid.c_str(),
                                      DCM_PlanePositionSequence, "Position"));
    return bool(good);
}

bool fill(DcmDataset& data, const Plan& plan, const DicomSubject& subject,
          const std::string& document, const std::vector<const Canal*>& canals) {
    const Block block = block_round(canals);
    DcmSegmentation* made = nullptr;
    const IODGeneralEquipmentModule::EquipmentInfo equipment("Anfract", "Anfract", "0", "1");
    ContentIdentificationMacro content("1", "CANALS", "Root canals, to be verified", "");
    Good good;
    good(DcmSegmentation::createBinarySegmentation(made, Uint16(block.size[1]),
                                                   Uint16(block.size[0]), equipment, content));
    const std::unique_ptr<DcmSegmentation> object(made);
    if (!object || !add_geometry(*object, block, uid_of(document, "dimensions"))) return false;
    good(object->getSeries().setSeriesNumber("9003"));
    good(object->getFrameOfReference().setFrameOfReferenceUID(
        (subject.study.frame_uid.empty() ? uid_of(document, "frame") : subject.study.frame_uid)
            .c_str()));
    for (const Canal* canal : canals) {
        Uint16 segment = 0;
        if (!add_segment(*object, plan, *canal, segment)) return false;
        if (!add_frames(*object, *canal, block, segment)) return false;
    }
    good(object->writeDataset(data));
    // The library makes UIDs and times up; ours follow from the plan.
    good(put(data, common_entries(plan, subject, document)));
    good(put(data, {{DCM_SOPInstanceUID, uid_of(document, "canals")},
                    {DCM_SeriesInstanceUID, uid_of(document, "canals series")},
                    {DCM_SeriesNumber, "9003"},
                    {DCM_SeriesDescription, "Root canals of the plan"}}));
    for (const DcmTagKey& tag :
         {DCM_InstanceCreationDate, DCM_InstanceCreationTime, DCM_InstanceCreatorUID})
        data.findAndDeleteElement(tag);
    return bool(good);
}

}  // namespace

Result<DicomObject> canals_object(const Plan& plan, const DicomSubject& subject,
                                  const std::string& document) {
    const std::vector<const Canal*> canals = canals_of(plan.tooth);
    if (canals.empty()) return DicomObject{};
    OFLog::configure(OFLogger::OFF_LOG_LEVEL);
    DcmFileFormat format;
    if (!fill(*format.getDataset(), plan, subject, document, canals))
        return fail(ErrorCode::BadInput, "the canals cannot be made a DICOM segmentation");
    auto bytes = file_bytes_of(format, subject);
    if (!bytes) return tl::unexpected(bytes.error());
    return DicomObject{"canals.dcm", std::move(*bytes)};
}

}  // namespace anfract::dicom
