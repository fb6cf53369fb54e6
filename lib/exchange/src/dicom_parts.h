#pragma once

#include <dcmtk/config/osconfig.h>
#include <dcmtk/dcmdata/dctk.h>

#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/exchange/dicom_objects.h"
#include "anfract/plan/plan.h"

/// What all DICOM objects of a plan share.
namespace anfract::dicom {

/// The scheme of our own codes: where DICOM has a code, that is used.
inline constexpr const char* own_scheme = "99ANFRACT";

/// A UID that follows from the plan's text and what is named [DICOM PS3.5, B.2].
std::string uid_of(const std::string& plan, const std::string& what);

struct Entry {
    DcmTagKey tag;
    std::string value;
};

/// Patient, study, series and equipment.
std::vector<Entry> common_entries(const Plan& plan, const DicomSubject& subject,
                                  const std::string& document);

OFCondition put(DcmItem& data, const std::vector<Entry>& entries);

/// Says that the Basic Application Confidentiality Profile was followed, by its code of
/// [DICOM PS3.16, CID 7050].
OFCondition mark_without_patient(DcmItem& data, const std::string& method);

/// The object as the bytes of a DICOM file. Errors: BadInput when the library refuses.
Result<std::string> file_bytes_of(DcmFileFormat& format, const DicomSubject& subject);

/// The canals as voxels, one segment for each: a binary Segmentation [DICOM PS3.3, A.51]. Not made
/// (an empty name) when no canal has two samples.
Result<DicomObject> canals_object(const Plan& plan, const DicomSubject& subject,
                                  const std::string& document);

/// A picture as a Secondary Capture [DICOM PS3.3, A.8.1].
Result<DicomObject> picture_object(const Plan& plan, const DicomSubject& subject,
                                   const std::string& document, const DicomPicture& picture);

}  // namespace anfract::dicom
