#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/plan/plan.h"

namespace anfract {

/// Whom the objects speak of and where they belong; empty parts stay empty.
struct DicomSubject {
    std::string family, given;
    std::string identifier;
    std::string birth_date;  ///< YYYY-MM-DD
    std::string study_uid;   ///< Study Instance UID of the scan, so that they lie beside it
    std::string issued;      ///< YYYY-MM-DDThh:mm:ss, local time
};

/// One DICOM object, as the bytes of a file.
struct DicomObject {
    std::string name;  ///< file name: "measurements.dcm", "letter.dcm"
    std::string bytes;
};

/// A plan as DICOM objects: the figures of each canal as an Enhanced SR and, where there is a
/// letter, the letter as an Encapsulated PDF [DICOM PS3.3, A.35.2, A.45.1].
///
/// The report is marked partial and unverified and carries the plan's cautions. UIDs are made from
/// the plan (2.25), so that the same plan gives the same objects. Errors: BadInput (a date, UID or
/// letter that is not one).
Result<std::vector<DicomObject>> dicom_objects(const Plan& plan, const DicomSubject& subject,
                                               const std::string& letter_pdf);

/// Where objects are sent.
struct DicomNode {
    std::string host;
    int port = 104;
    std::string called;  ///< its application entity title
    std::string calling = "ANFRACT";
};

/// Reads "TITLE@HOST:PORT". Errors: BadInput.
Result<DicomNode> parse_dicom_node(const std::string& text);

/// Sends DICOM files to another program by C-STORE; each is acknowledged. Errors: BadInput (no
/// DICOM file), Io (no connection, refused, not acknowledged).
Result<void> send_dicom(const std::vector<std::filesystem::path>& files, const DicomNode& to);

}  // namespace anfract
