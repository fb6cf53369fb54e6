#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/exchange/dicom_tls.h"
#include "anfract/plan/plan.h"
#include "anfract/scan/dicom_study.h"

namespace anfract {

/// Whom the objects speak of and where they belong; empty parts stay empty.
struct DicomSubject {
    std::string family, given;
    std::string identifier;
    std::string birth_date;  ///< YYYY-MM-DD
    DicomStudy study;        ///< of the scan, so that they lie beside it and the canals lie in it;
                             ///< its patient, where it names one, takes the place of the above
    std::string issued;      ///< YYYY-MM-DDThh:mm:ss, local time; reports must have it
    bool pseudonym = false;  ///< the names above stand for a patient: marked by the profile of
                             ///< [DICOM PS3.15, E.2], and without descriptions and comments
};

/// A picture to go along, such as the depth ruler.
struct DicomPicture {
    std::string name;   ///< of the file, without ending: "ruler"
    std::string title;  ///< at most 64 letters
    int width_px = 0, height_px = 0;
    std::string rgb;  ///< 3 bytes a pixel, row by row
};

/// One DICOM object, as the bytes of a file.
struct DicomObject {
    std::string name;  ///< file name: "measurements.dcm", "letter.dcm"
    std::string bytes;
};

/// A plan as DICOM objects: the figures of each canal as an Enhanced SR, the canals as a
/// Segmentation, the letter, where there is one, as an Encapsulated PDF and each picture as a
/// Secondary Capture [DICOM PS3.3, A.35.2, A.51, A.45.1, A.8.1].
///
/// The report is marked partial and unverified and carries the plan's cautions. UIDs are made from
/// the plan and the moment it is issued (2.25), so that the same gives the same objects. Errors:
/// BadInput (a date, UID or letter that is not one).
Result<std::vector<DicomObject>> dicom_objects(const Plan& plan, const DicomSubject& subject,
                                               const std::string& letter_pdf,
                                               const std::vector<DicomPicture>& pictures = {});

/// Where objects are sent.
struct DicomNode {
    std::string host;
    int port = 104;
    std::string called;  ///< its application entity title
    std::string calling = "ANFRACT";
    DicomTls tls{};  ///< empty: unencrypted
};

/// Reads "TITLE@HOST:PORT". Errors: BadInput.
Result<DicomNode> parse_dicom_node(const std::string& text);

/// Sends DICOM files to another program by C-STORE; each is acknowledged. Errors: BadInput (no
/// DICOM file, a certificate that is none), Io (no connection, refused, not acknowledged).
Result<void> send_dicom(const std::vector<std::filesystem::path>& files, const DicomNode& to);

}  // namespace anfract
