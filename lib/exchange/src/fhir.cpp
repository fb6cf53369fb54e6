#include "anfract/exchange/fhir.h"

#include <sodium.h>

#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <nlohmann/json.hpp>
#include <regex>

#include "anfract/base/json_document.h"
#include "anfract/plan/cautions.h"
#include "anfract/plan/plan_file.h"

namespace anfract {
namespace {

using nlohmann::json;

constexpr const char* plan_type = "application/json";

std::string base64(const std::string& bytes) {
    std::string text(sodium_base64_ENCODED_LEN(bytes.size(), sodium_base64_VARIANT_ORIGINAL), '\0');
    sodium_bin2base64(text.data(), text.size(),
                      reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(),
                      sodium_base64_VARIANT_ORIGINAL);
    text.pop_back();  // the closing zero
    return text;
}

std::optional<std::string> from_base64(const std::string& text) {
    std::string bytes(text.size(), '\0');
    std::size_t size = 0;
    if (sodium_base642bin(reinterpret_cast<unsigned char*>(bytes.data()), bytes.size(), text.data(),
                          text.size(), nullptr, &size, nullptr,
                          sodium_base64_VARIANT_ORIGINAL) != 0) {
        return std::nullopt;
    }
    bytes.resize(size);
    return bytes;
}

json millimetres(double value) {
    return {
        {"value", value}, {"unit", "mm"}, {"system", "http://unitsofmeasure.org"}, {"code", "mm"}};
}

json text_concept(const std::string& text) { return {{"text", text}}; }

/// Entries of a bundle, each with an id made from the plan and its place.
class Entries {
  public:
    explicit Entries(const std::string& seed)
        : name_(boost::uuids::name_generator_sha1(boost::uuids::ns::oid())(seed)) {}

    /// Adds a resource; returns the URL by which others refer to it.
    std::string add(json resource) {
        const std::string type = resource.at("resourceType");
        const std::string place = type + std::to_string(entries_.size());
        const std::string url =
            "urn:uuid:" + boost::uuids::to_string(boost::uuids::name_generator_sha1(name_)(place));
        entries_.push_back({{"fullUrl", url},
                            {"resource", std::move(resource)},
                            {"request", {{"method", "POST"}, {"url", type}}}});
        return url;
    }

    json take() { return std::move(entries_); }

  private:
    boost::uuids::uuid name_;
    json entries_ = json::array();
};

json patient(const Plan& plan, const FhirSubject& subject) {
    json patient = {{"resourceType", "Patient"}};
    json name = json::object();
    if (!subject.family.empty()) name["family"] = subject.family;
    if (!subject.given.empty()) name["given"] = json::array({subject.given});
    if (plan.invented && name.empty()) name["text"] = "Invented patient";
    if (!name.empty()) patient["name"] = json::array({name});
    if (!subject.birth_date.empty()) patient["birthDate"] = subject.birth_date;
    if (!subject.identifier.empty()) {
        json identifier = {{"value", subject.identifier}};
        if (!subject.identifier_system.empty()) identifier["system"] = subject.identifier_system;
        patient["identifier"] = json::array({identifier});
    }
    if (plan.invented) {
        // The marker that HL7 gives for data that is not of a real person.
        patient["meta"]["tag"] =
            json::array({{{"system", "http://terminology.hl7.org/CodeSystem/v3-ActReason"},
                          {"code", "HTEST"},
                          {"display", "test health data"}}});
    }
    return patient;
}

json imaging_study(const ScanFacts& scan, const json& of) {
    json study = {{"resourceType", "ImagingStudy"}, {"status", "available"}, {"subject", of}};
    json series = {
        {"modality", {{"system", "http://dicom.nema.org/resources/ontology/DCM"}, {"code", "CT"}}}};
    if (!scan.series_uid.empty()) {
        series["uid"] = scan.series_uid;
        study["series"] = json::array({series});
    } else {
        study["modality"] = json::array({series["modality"]});
    }
    study["description"] = "Cone-beam scan the tooth was traced in";
    return study;
}

json tooth_site(const Plan& plan) {
    json site = {{"text", "Tooth " + plan.tooth.fdi + " (ISO 3950)"}};
    site["coding"] = json::array({{{"system", "urn:iso:std:iso:3950"}, {"code", plan.tooth.fdi}}});
    return site;
}

json cautions_as_notes() {
    json notes = json::array();
    for (const std::string& caution : plan_cautions()) notes.push_back({{"text", caution}});
    return notes;
}

json component(const std::string& what, double value_mm) {
    return {{"code", text_concept(what)}, {"valueQuantity", millimetres(value_mm)}};
}

json observation(const Plan& plan, const CanalPlan& canal, const json& of) {
    json seen = {
        {"resourceType", "Observation"},
        {"status", "preliminary"},
        {"subject", of},
        {"code", text_concept("Root canal " + canal.canal + ": depth from the reference point")},
        {"valueQuantity", millimetres(canal.depth_to_foramen_mm)},
        {"note", cautions_as_notes()}};
    if (!plan.tooth.fdi.empty()) seen["bodySite"] = tooth_site(plan);
    json parts = json::array();
    if (canal.depth_sd_mm)
        parts.push_back(component("standard deviation of the depth", *canal.depth_sd_mm));
    parts.push_back(component("suggested working depth, to be verified", canal.working_depth_mm));
    if (const Canal* traced = plan.tooth.find(canal.canal)) {
        parts.push_back(component("length from orifice to foramen", traced->length_mm));
        double narrowest = traced->samples.front().diameter_mm;
        for (const CanalSample& sample : traced->samples) {
            narrowest = std::min(narrowest, sample.diameter_mm);
        }
        parts.push_back(component("narrowest width, circle of equal area", narrowest));
    }
    if (canal.presence) {
        parts.push_back({{"code", text_concept("probability that the canal exists")},
                         {"valueQuantity",
                          {{"value", *canal.presence},
                           {"unit", "1"},
                           {"system", "http://unitsofmeasure.org"},
                           {"code", "1"}}}});
    }
    seen["component"] = parts;
    return seen;
}

json procedure(const Plan& plan, const json& of) {
    json planned = {{"resourceType", "Procedure"},
                    {"status", "preparation"},
                    {"subject", of},
                    {"code", text_concept("Root canal treatment")},
                    {"note", cautions_as_notes()}};
    if (!plan.tooth.fdi.empty()) planned["bodySite"] = json::array({tooth_site(plan)});
    return planned;
}

json attachment(const std::string& type, const std::string& title, const std::string& bytes) {
    return {{"attachment", {{"contentType", type}, {"title", title}, {"data", base64(bytes)}}}};
}

Result<void> check(const std::string& text, const char* pattern, const char* what,
                   const char* remedy) {
    if (text.empty() || std::regex_match(text, std::regex(pattern))) return {};
    return fail(ErrorCode::BadInput, std::string("is not ") + what, text, remedy);
}

}  // namespace

Result<json> fhir_bundle(const Plan& plan, const FhirSubject& subject,
                         const std::string& letter_pdf) {
    // [HL7 FHIR R4, datatypes, date and instant]
    if (auto ok =
            check(subject.birth_date, R"(\d{4}(-\d\d(-\d\d)?)?)", "a date", "write YYYY-MM-DD");
        !ok) {
        return tl::unexpected(ok.error());
    }
    if (auto ok =
            check(subject.issued, R"(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?(Z|[+-]\d\d:\d\d))",
                  "an instant", "write YYYY-MM-DDThh:mm:ss+hh:mm");
        !ok) {
        return tl::unexpected(ok.error());
    }
    const std::string document = plan_to_json(plan).dump();
    Entries entries(document);
    const json of = {{"reference", entries.add(patient(plan, subject))}};
    json sources = json::array();
    if (plan.tooth.scan) {
        sources.push_back({{"reference", entries.add(imaging_study(*plan.tooth.scan, of))}});
    }
    const std::string planned = entries.add(procedure(plan, of));
    json related = json::array({{{"reference", planned}}});
    for (const CanalPlan& canal : plan.canals) {
        json seen = observation(plan, canal, of);
        if (!sources.empty()) seen["derivedFrom"] = sources;
        if (!subject.issued.empty()) seen["issued"] = subject.issued;
        related.push_back({{"reference", entries.add(std::move(seen))}});
    }
    json papers = {{"resourceType", "DocumentReference"},
                   {"status", "current"},
                   {"docStatus", "preliminary"},
                   {"subject", of},
                   {"type", text_concept("Root canal treatment plan")},
                   {"context", {{"related", related}}}};
    if (!subject.issued.empty()) papers["date"] = subject.issued;
    papers["content"] = json::array({attachment(plan_type, "anfract.plan", document)});
    if (!letter_pdf.empty()) {
        papers["content"].push_back(attachment("application/pdf", "Letter", letter_pdf));
    }
    entries.add(std::move(papers));
    return json{{"resourceType", "Bundle"}, {"type", "transaction"}, {"entry", entries.take()}};
}

Result<Plan> plan_of_fhir_bundle(const json& bundle, const std::string& where) {
    const auto missing = [&where] {
        return fail(ErrorCode::BadInput, "holds no working plan", where,
                    "give a bundle that this program wrote");
    };
    try {
        for (const json& entry : bundle.at("entry")) {
            const json& resource = entry.at("resource");
            if (resource.at("resourceType") != "DocumentReference") continue;
            for (const json& content : resource.at("content")) {
                const json& paper = content.at("attachment");
                if (paper.value("title", "") != "anfract.plan") continue;
                const auto bytes = from_base64(paper.at("data").get<std::string>());
                const auto plan = parse_document(bytes.value_or(""), "anfract.plan", where);
                if (!plan) return tl::unexpected(plan.error());
                return plan_from_json(*plan, where);
            }
        }
    } catch (const json::exception&) {
        // Falls through: whatever is not as FHIR has it holds no plan.
    }
    return missing();
}

}  // namespace anfract
