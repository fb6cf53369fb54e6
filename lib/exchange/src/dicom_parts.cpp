#include "dicom_parts.h"

#include <dcmtk/dcmdata/dcostrmb.h>

#include <algorithm>
#include <boost/multiprecision/cpp_int.hpp>
#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid.hpp>

namespace anfract::dicom {

namespace {

std::string digits_of(const std::string& text) {
    std::string digits;
    std::copy_if(text.begin(), text.end(), std::back_inserter(digits),
                 [](char c) { return c >= '0' && c <= '9'; });
    return digits;
}

}  // namespace

std::string uid_of(const std::string& plan, const std::string& what) {
    const boost::uuids::uuid space =
        boost::uuids::name_generator_sha1(boost::uuids::uuid{})("anfract plan");
    const boost::uuids::uuid id = boost::uuids::name_generator_sha1(space)(plan + what);
    boost::multiprecision::uint128_t number = 0;
    for (const std::uint8_t byte : id) number = number * 256 + byte;
    return "2.25." + number.str();  // [DICOM PS3.5, B.2]
}

std::vector<Entry> common_entries(const Plan& plan, const DicomSubject& subject,
                                  const std::string& document) {
    const DicomStudy& study = subject.study;
    const bool by_scan = !study.patient_name.empty() || !study.patient_id.empty();
    std::string name = by_scan ? study.patient_name : subject.family;
    if (!by_scan && !subject.given.empty()) name += "^" + subject.given;
    if (plan.invented && name.empty()) name = "Invented^Case";
    const std::string date = digits_of(subject.issued.substr(0, 10));
    const std::string time = subject.issued.empty() ? "" : digits_of(subject.issued.substr(11));
    std::vector<Entry> entries{
        {DCM_SpecificCharacterSet, "ISO_IR 192"},
        {DCM_PatientName, name},
        {DCM_PatientID, by_scan ? study.patient_id : subject.identifier},
        {DCM_PatientBirthDate, by_scan ? study.birth_date : digits_of(subject.birth_date)},
        {DCM_PatientSex, by_scan ? study.sex : ""},
        {DCM_StudyInstanceUID,
         study.study_uid.empty() ? uid_of(document, "study") : study.study_uid},
        {DCM_StudyDate, by_scan ? study.study_date : date},
        {DCM_StudyTime, by_scan ? study.study_time : time},
        {DCM_ContentDate, date},
        {DCM_ContentTime, time},
        {DCM_StudyID, study.study_id},
        {DCM_AccessionNumber, study.accession_number},
        {DCM_ReferringPhysicianName, ""},
        {DCM_Manufacturer, "Anfract"},
        {DCM_InstanceNumber, "1"},
    };
    if (plan.invented && !subject.pseudonym)
        entries.push_back({DCM_PatientComments, "invented data, not a patient"});
    return entries;
}

OFCondition put(DcmItem& data, const std::vector<Entry>& entries) {
    OFCondition condition = EC_Normal;
    for (const Entry& entry : entries) {
        if (condition.good()) condition = data.putAndInsertString(entry.tag, entry.value.c_str());
    }
    return condition;
}

OFCondition mark_without_patient(DcmItem& data, const std::string& method) {
    OFCondition condition =
        put(data, {{DCM_PatientIdentityRemoved, "YES"}, {DCM_DeidentificationMethod, method}});
    DcmItem* item = nullptr;
    if (condition.good())
        condition = data.findOrCreateSequenceItem(DCM_DeidentificationMethodCodeSequence, item, 0);
    if (condition.bad()) return condition;
    return put(*item, {{DCM_CodeValue, "113100"},
                       {DCM_CodingSchemeDesignator, "DCM"},
                       {DCM_CodeMeaning, "Basic Application Confidentiality Profile"}});
}

Result<std::string> file_bytes_of(DcmFileFormat& format, const DicomSubject& subject) {
    if (subject.pseudonym) {
        DcmDataset& data = *format.getDataset();
        if (mark_without_patient(data, "made anew from a plan without the patient").bad())
            return fail(ErrorCode::BadInput, "the DICOM object cannot be made");
        // Taken out by the profile [DICOM PS3.15, Table E.1-1].
        for (const DcmTagKey& tag : {DCM_SeriesDescription, DCM_ImageComments,
                                     DCM_DerivationDescription, DCM_PatientComments})
            data.findAndDeleteElement(tag);
    }
    if (format.validateMetaInfo(EXS_LittleEndianExplicit).bad())
        return fail(ErrorCode::BadInput, "the DICOM object cannot be made");
    std::string bytes(
        std::size_t(format.calcElementLength(EXS_LittleEndianExplicit, EET_ExplicitLength)) +
            (1u << 16),
        '\0');
    DcmOutputBufferStream stream(bytes.data(), offile_off_t(bytes.size()));
    format.transferInit();
    const OFCondition status =
        format.write(stream, EXS_LittleEndianExplicit, EET_ExplicitLength, nullptr);
    format.transferEnd();
    void* begin = nullptr;
    offile_off_t size = 0;
    stream.flushBuffer(begin, size);
    if (status.bad()) return fail(ErrorCode::BadInput, "the DICOM object cannot be made");
    bytes.resize(std::size_t(size));
    return bytes;
}

}  // namespace anfract::dicom
