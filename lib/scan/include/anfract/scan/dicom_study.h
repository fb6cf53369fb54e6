#pragma once

#include <string>

namespace anfract {

/// Whose a DICOM scan is, and which study and frame it lies in, as its data set says, in UTF-8;
/// empty what it does not say [DICOM PS3.3, C.7.1.1, C.7.2.1, C.7.4.1]. Objects that are made from
/// the scan repeat it, so as to lie beside it.
struct DicomStudy {
    std::string study_uid, frame_uid;
    std::string study_date, study_time, study_id, accession_number;
    std::string patient_name, patient_id, birth_date, sex;

    bool operator==(const DicomStudy&) const = default;
};

/// Does something with each member, by a name.
template <class Study, class Act>
void for_each_member(Study& study, const Act& act) {
    act("study_uid", study.study_uid);
    act("frame_uid", study.frame_uid);
    act("study_date", study.study_date);
    act("study_time", study.study_time);
    act("study_id", study.study_id);
    act("accession_number", study.accession_number);
    act("patient_name", study.patient_name);
    act("patient_id", study.patient_id);
    act("birth_date", study.birth_date);
    act("sex", study.sex);
}

/// The most that is taken of a text: five groups of 64 letters of four bytes have room.
constexpr std::size_t longest_study_text_bytes = 1300;

/// Whether a text is a UID [DICOM PS3.5, 9.1]: numbers joined by dots, 64 characters at most.
bool is_dicom_uid(const std::string& text);

}  // namespace anfract
