#pragma once

#include <string>
#include <vector>

#include "anfract/exchange/dicom_objects.h"
#include "anfract/plan/plan.h"
#include "anfract/scan/volume.h"

namespace anfract::server {

/// A plan and its key pictures as DICOM objects. Without `subject.issued` they are made now.
/// @param letter_pdf  to be put in; may be empty  @param scan  for the sections; may be null
/// Errors: those of key_pictures and dicom_objects.
Result<std::vector<DicomObject>> plan_objects(const Plan& plan, DicomSubject subject,
                                              const std::string& letter_pdf,
                                              const Brick* scan = nullptr);

}  // namespace anfract::server
