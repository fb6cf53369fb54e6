#include "anfract/exchange/dicom_objects.h"

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>
#include <dcmtk/dcmsr/codes/dcm.h>
#include <dcmtk/dcmsr/codes/ucum.h>
#include <dcmtk/dcmsr/dsrdoc.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>
#include <regex>

#include "anfract/plan/cautions.h"
#include "anfract/plan/plan_file.h"
#include "dicom_parts.h"

namespace anfract {
using namespace dicom;

namespace {

Result<void> check(const DicomSubject& subject, const std::string& letter_pdf) {
    const auto bad = [](const std::string& text, const char* pattern) {
        return !text.empty() && !std::regex_match(text, std::regex(pattern));
    };
    if (bad(subject.birth_date, R"(\d{4}-\d\d-\d\d)"))
        return fail(ErrorCode::BadInput, "is not a date", subject.birth_date, "write YYYY-MM-DD");
    if (bad(subject.issued, R"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)")) {
        return fail(ErrorCode::BadInput, "is not a time", subject.issued,
                    "write YYYY-MM-DDThh:mm:ss");
    }
    for (const std::string& uid : {subject.study.study_uid, subject.study.frame_uid}) {
        if (!uid.empty() && !is_dicom_uid(uid))
            return fail(ErrorCode::BadInput, "is not a DICOM UID", uid, "copy that of the scan");
    }
    // A backslash parts values and a caret the parts of a name [DICOM PS3.5, 6.2].
    for (const std::string& text : {subject.family, subject.given, subject.identifier}) {
        if (text.size() > 64 || text.find_first_of("\\^=\n\r") != std::string::npos) {
            return fail(ErrorCode::BadInput, "cannot be a DICOM name or number", text,
                        "leave out \\, ^ and =, and keep to 64 letters");
        }
    }
    if (!letter_pdf.empty() && letter_pdf.rfind("%PDF-", 0) != 0) {
        return fail(ErrorCode::BadInput, "the letter is not a PDF", "",
                    "give what 'anfract report' wrote");
    }
    return {};
}

Result<DicomObject> letter(const Plan& plan, const DicomSubject& subject,
                           const std::string& document, const std::string& pdf) {
    DcmFileFormat format;
    DcmDataset& data = *format.getDataset();
    std::string even = pdf;
    if (even.size() % 2 != 0) even += '\0';
    const std::string title = "Root canal plan, tooth " + plan.tooth.fdi;
    bool good =
        put(data, common_entries(plan, subject, document)).good() &&
        put(data, {{DCM_SOPClassUID, UID_EncapsulatedPDFStorage},
                   {DCM_SOPInstanceUID, uid_of(document, "letter")},
                   {DCM_SeriesInstanceUID, uid_of(document, "letter series")},
                   {DCM_SeriesNumber, "9001"},
                   {DCM_Modality, "DOC"},
                   {DCM_ConversionType, "WSD"},
                   {DCM_BurnedInAnnotation, "YES"},
                   {DCM_AcquisitionDateTime, ""},
                   {DCM_DocumentTitle, title},
                   {DCM_MIMETypeOfEncapsulatedDocument, "application/pdf"}})
            .good() &&
        data.putAndInsertUint8Array(DCM_EncapsulatedDocument,
                                    reinterpret_cast<const Uint8*>(even.data()), even.size())
            .good() &&
        data.putAndInsertUint32(DCM_EncapsulatedDocumentLength, Uint32(pdf.size())).good() &&
        data.insertEmptyElement(DCM_ConceptNameCodeSequence).good();
    if (!good) return fail(ErrorCode::BadInput, "the letter cannot be made a DICOM object");
    auto bytes = file_bytes_of(format, subject);
    if (!bytes) return tl::unexpected(bytes.error());
    return DicomObject{"letter.dcm", std::move(*bytes)};
}

/// Builds the tree of a structured report; what fails makes the whole report fail.
class ReportTree {
  public:
    explicit ReportTree(DSRDocumentTree& tree) : tree_(tree) {}

    void root() {
        add(DSRTypes::RT_isRoot, DSRTypes::VT_Container, CODE_DCM_ImagingMeasurementReport);
    }
    void begin_group() {
        add(DSRTypes::RT_contains, DSRTypes::VT_Container, CODE_DCM_MeasurementGroup);
    }
    void end_group() {
        good_ = good_ && tree_.goUp() > 0;
        fresh_ = false;
    }
    void text(DSRTypes::E_RelationshipType how, const DSRCodedEntryValue& what,
              const std::string& value) {
        add(how, DSRTypes::VT_Text, what);
        good_ = good_ && tree_.getCurrentContentItem().setStringValue(value.c_str()).good();
    }
    void number(const DSRCodedEntryValue& what, double value, const DSRCodedEntryValue& unit) {
        std::array<char, 32> digits{};
        std::snprintf(digits.data(), digits.size(), "%.6g", value);
        add(DSRTypes::RT_contains, DSRTypes::VT_Num, what);
        good_ = good_ && tree_.getCurrentContentItem()
                             .setNumericValue(DSRNumericMeasurementValue(digits.data(), unit))
                             .good();
    }
    bool good() const { return good_; }

  private:
    void add(DSRTypes::E_RelationshipType how, DSRTypes::E_ValueType type,
             const DSRCodedEntryValue& what) {
        const auto mode = fresh_ ? DSRTypes::AM_belowCurrent : DSRTypes::AM_afterCurrent;
        good_ = good_ && tree_.addContentItem(how, type, mode) > 0 &&
                tree_.getCurrentContentItem().setConceptName(what).good();
        fresh_ = type == DSRTypes::VT_Container;
    }

    DSRDocumentTree& tree_;
    bool fresh_ = false;  ///< the current item is a container without contents yet
    bool good_ = true;
};

DSRCodedEntryValue own(const char* code, const char* meaning) {
    return DSRCodedEntryValue(code, own_scheme, meaning);
}

void add_canal(ReportTree& tree, const Plan& plan, const CanalPlan& canal) {
    tree.begin_group();
    tree.text(DSRTypes::RT_hasObsContext, CODE_DCM_TrackingIdentifier,
              "tooth " + plan.tooth.fdi + ", canal " + canal.canal);
    const DSRCodedEntryValue mm = CODE_UCUM_Millimeter;
    tree.number(own("depth", "Depth of the foramen from the reference point"),
                canal.depth_to_foramen_mm, mm);
    if (canal.depth_sd_mm)
        tree.number(own("depth-sd", "Standard deviation of that depth"), *canal.depth_sd_mm, mm);
    tree.number(own("working-depth", "Suggested working depth, to be verified"),
                canal.working_depth_mm, mm);
    if (const Canal* traced = plan.tooth.find(canal.canal)) {
        tree.number(own("length", "Length from orifice to foramen"), traced->length_mm, mm);
        double narrowest_mm = traced->samples.front().diameter_mm;
        for (const CanalSample& sample : traced->samples)
            narrowest_mm = std::min(narrowest_mm, sample.diameter_mm);
        tree.number(own("narrowest", "Narrowest width, circle of equal area"), narrowest_mm, mm);
    }
    if (canal.presence) {
        tree.number(own("presence", "Probability that the canal exists"), *canal.presence,
                    DSRCodedEntryValue("1", "UCUM", "no units"));
    }
    tree.end_group();
}

Result<DicomObject> measurements(const Plan& plan, const DicomSubject& subject,
                                 const std::string& document) {
    const auto failed = [] {
        return fail(ErrorCode::BadInput, "the figures cannot be made a DICOM report");
    };
    DSRDocument report(DSRTypes::DT_EnhancedSR);
    ReportTree tree(report.getTree());
    tree.root();
    for (const std::string& caution : plan_cautions())
        tree.text(DSRTypes::RT_contains, CODE_DCM_Comment, caution);
    for (const CanalPlan& canal : plan.canals) add_canal(tree, plan, canal);
    DcmFileFormat format;
    DcmDataset& data = *format.getDataset();
    report.setSeriesDescription("Figures of the root canal plan");
    if (!tree.good() || report.write(data).bad()) return failed();
    // The library makes UIDs and times up; ours follow from the plan.
    const bool good = put(data, common_entries(plan, subject, document)).good() &&
                      put(data, {{DCM_SOPInstanceUID, uid_of(document, "measurements")},
                                 {DCM_SeriesInstanceUID, uid_of(document, "measurements series")},
                                 {DCM_SeriesNumber, "9002"}})
                          .good();
    if (!good) return failed();
    data.findAndDeleteElement(DCM_InstanceCreationDate);
    data.findAndDeleteElement(DCM_InstanceCreationTime);
    data.findAndDeleteElement(DCM_InstanceCreatorUID);
    auto bytes = file_bytes_of(format, subject);
    if (!bytes) return tl::unexpected(bytes.error());
    return DicomObject{"measurements.dcm", std::move(*bytes)};
}

}  // namespace

Result<std::vector<DicomObject>> dicom_objects(const Plan& plan, const DicomSubject& subject,
                                               const std::string& letter_pdf,
                                               const std::vector<DicomPicture>& pictures) {
    if (auto good = check(subject, letter_pdf); !good) return tl::unexpected(good.error());
    // What is issued anew is another object, and must have another UID [DICOM PS3.5, 9].
    const std::string document = plan_to_json(plan).dump() + subject.issued;
    std::vector<DicomObject> objects;
    auto figures = measurements(plan, subject, document);
    if (!figures) return tl::unexpected(figures.error());
    objects.push_back(std::move(*figures));
    auto canals = canals_object(plan, subject, document);
    if (!canals) return tl::unexpected(canals.error());
    if (!canals->name.empty()) objects.push_back(std::move(*canals));
    for (const DicomPicture& picture : pictures) {
        auto object = picture_object(plan, subject, document, picture);
        if (!object) return tl::unexpected(object.error());
        objects.push_back(std::move(*object));
    }
    if (letter_pdf.empty()) return objects;
    auto paper = letter(plan, subject, document, letter_pdf);
    if (!paper) return tl::unexpected(paper.error());
    objects.push_back(std::move(*paper));
    return objects;
}

}  // namespace anfract
