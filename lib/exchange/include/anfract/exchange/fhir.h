#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>

#include "anfract/base/result.h"
#include "anfract/plan/plan.h"

namespace anfract {

/// Whom and when a bundle speaks of; empty parts are left out.
struct FhirSubject {
    std::string family, given;
    std::string birth_date;                     ///< YYYY, YYYY-MM or YYYY-MM-DD
    std::string identifier, identifier_system;  ///< system is a URI
    std::string issued;  ///< instant the bundle is made, YYYY-MM-DDThh:mm:ss+hh:mm
};

/// A plan as an HL7 FHIR R4 (4.0.1) bundle of type transaction, so that a server can take it in as
/// it is: Patient, ImagingStudy, Procedure (status preparation), one Observation for each canal and
/// a DocumentReference that holds the letter, where given, and the plan itself as it was written,
/// so that it comes back equal (`plan_of_fhir_bundle`).
///
/// Figures are UCUM millimetres; the tooth is an ISO 3950 code; observations are `preliminary` and
/// carry the plan's cautions as notes. Ids are UUIDs made from the plan, so that the same plan
/// gives the same bundle.
///
/// @param letter_pdf  bytes of the letter, may be empty
/// Errors: BadInput (a date that is not one).
Result<nlohmann::json> fhir_bundle(const Plan& plan, const FhirSubject& subject,
                                   const std::string& letter_pdf);

/// The plan in a bundle that `fhir_bundle` made. Errors: BadInput.
Result<Plan> plan_of_fhir_bundle(const nlohmann::json& bundle, const std::string& where);

}  // namespace anfract
