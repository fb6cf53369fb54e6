#include "access_rules.h"

namespace anfract::server {

const std::map<std::string, AccessRule>& access_rules() {
    using record::Role;
    constexpr auto everybody = std::nullopt;
    static const std::map<std::string, AccessRule> rules{
        {"GET /", {everybody}},  // the page itself, which holds nothing of a patient
        {"GET /api/about", {everybody}},
        {"GET /api/session", {everybody}},
        {"POST /api/session", {everybody}},
        {"DELETE /api/session", {everybody}},
        {"PUT /api/session/password", {Role::Reader}},
        {"GET /api/access", {Role::Clinician}},
        {"GET /api/accounts", {Role::Clinician}},
        {"POST /api/accounts", {Role::Clinician}},
        {"PUT /api/accounts/{name}", {Role::Clinician}},

        {"GET /api/scans", {Role::Reader, true}},
        {"GET /api/scans/{id}", {Role::Reader, true}},
        {"GET /api/scans/{id}/brick", {Role::Reader, true}},
        {"POST /api/scans", {Role::Assistant}},
        {"POST /api/uploads", {Role::Assistant}},
        {"DELETE /api/scans/{id}", {Role::Clinician}},
        {"POST /api/scans/{id}/traces", {Role::Clinician}},
        {"GET /api/jobs/{id}/events", {Role::Reader}},
        {"DELETE /api/jobs/{id}", {Role::Reader}},

        {"GET /api/cases", {Role::Reader, true}},
        {"POST /api/cases", {Role::Clinician}},
        {"GET /api/cases/{id}", {Role::Reader, true}},
        {"DELETE /api/cases/{id}", {Role::Clinician}},
        {"GET /api/cases/{id}/measures", {Role::Reader, true}},
        {"GET /api/cases/{id}/passages", {Role::Reader, true}},
        {"POST /api/cases/{id}/passages", {Role::Reader}},
        {"POST /api/cases/{id}/rehearse", {Role::Reader, true}},
        {"GET /api/cases/{id}/plan", {Role::Reader, true}},
        {"POST /api/cases/{id}/plan", {Role::Reader}},
        {"GET /api/cases/{id}/letter.pdf", {Role::Reader, true}},
        {"GET /api/cases/{id}/letter.html", {Role::Reader, true}},
        {"GET /api/cases/{id}/leaflet.pdf", {Role::Reader, true}},
        {"GET /api/cases/{id}/leaflet.html", {Role::Reader, true}},
        {"GET /api/cases/{id}/discharge.pdf", {Role::Reader, true}},
        {"GET /api/cases/{id}/discharge.html", {Role::Reader, true}},
        // The same, kept with the case as given out.
        {"POST /api/cases/{id}/letter.pdf", {Role::Assistant, true}},
        {"POST /api/cases/{id}/letter.html", {Role::Assistant, true}},
        {"POST /api/cases/{id}/leaflet.pdf", {Role::Assistant, true}},
        {"POST /api/cases/{id}/leaflet.html", {Role::Assistant, true}},
        {"POST /api/cases/{id}/discharge.pdf", {Role::Assistant, true}},
        {"POST /api/cases/{id}/discharge.html", {Role::Assistant, true}},
        {"GET /api/cases/{id}/model.stl", {Role::Reader, true}},
        {"GET /api/cases/{id}/model.3mf", {Role::Reader, true}},
        // What other programs take in, and all of a case with its log.
        {"GET /api/cases/{id}/fhir.json", {Role::Assistant, true}},
        {"GET /api/cases/{id}/dicom.zip", {Role::Assistant, true}},
        {"GET /api/cases/{id}/archive.zip", {Role::Clinician, true}},
        {"POST /api/archives", {Role::Clinician}},
        {"GET /api/cases/{id}/edits", {Role::Reader, true}},
        {"POST /api/cases/{id}/edits", {Role::Clinician}},
        {"POST /api/cases/{id}/edits/open", {Role::Clinician}},

        {"GET /api/cases/{id}/log", {Role::Reader, true}},
        {"POST /api/cases/{id}/log", {Role::Assistant}},
        {"GET /api/cases/{id}/record", {Role::Reader, true}},
        {"PUT /api/cases/{id}/record", {Role::Clinician}},
        {"GET /api/cases/{id}/record/versions", {Role::Reader, true}},
        {"GET /api/cases/{id}/record/versions/{version}", {Role::Reader, true}},
        {"GET /api/cases/{id}/files", {Role::Reader, true}},
        {"POST /api/cases/{id}/files", {Role::Assistant}},
        {"GET /api/cases/{id}/files/{kind}/{version}", {Role::Reader, true}},
        {"POST /api/cases/{id}/plan-versions", {Role::Clinician}},

        {"GET /api/stock", {Role::Reader}},
        {"PUT /api/stock/items/{id}", {Role::Assistant}},
        {"GET /api/stock/items/{id}/movements", {Role::Reader}},
        {"POST /api/stock/movements", {Role::Assistant}},
        {"GET /api/stock/reorder", {Role::Reader}},
        {"GET /api/stock/stock.csv", {Role::Reader}},
        {"POST /api/stock/stock.csv", {Role::Assistant}},
        {"GET /api/tray", {Role::Reader}},
        {"PUT /api/tray", {Role::Clinician}},
    };
    return rules;
}

}  // namespace anfract::server
