#include <charconv>
#include <nlohmann/json.hpp>

#include "anfract/exchange/fhir.h"
#include "anfract/exchange/practice_model.h"
#include "anfract/exchange/print_file.h"
#include "anfract/http/problem.h"
#include "anfract/record/case_archive.h"
#include "anfract/record/zip_file.h"
#include "anfract/server/plan_objects.h"
#include "anfract/server/scan_folder.h"
#include "planned_case.h"
#include "request_json.h"
#include "route_adder.h"

namespace anfract::server {
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

/// Files that take much memory or disk to make: few at a time, the others are told to wait.
template <class Make>
http::Response made_in_turn(Workspace& workspace, const Make& make) {
    if (!workspace.large_files.try_acquire()) {
        return http::problem(
            503, "busy",
            {ErrorCode::Io, "too many large files are being made", "", "try again in a moment"});
    }
    struct Release {
        std::counting_semaphore<>& turns;
        ~Release() { turns.release(); }
    } release{workspace.large_files};
    return make();
}

/// A file of our own below uploads/, which is emptied when the server starts.
fs::path draft_of(const Workspace& workspace, const std::string& ending) {
    return workspace.directory->uploads() / (new_id() + "." + ending);
}

http::Response send_file(const fs::path& file, const std::string& kind, const std::string& id) {
    auto mapped = http::MappedFile::take(file);
    if (!mapped) return http::problem(mapped.error());
    http::Response response = download("", kind, id, "zip");
    response.file = std::move(*mapped);
    return response;
}

// ---- the plan for other programs ----

http::Response get_fhir(Workspace& workspace, const http::Request& request) {
    const auto planned = planned_case(workspace, request.parameters.at("id"), *request.waiting);
    if (!planned) return http::problem(planned.error());
    const auto letter = letter_bytes(workspace, *planned, LetterForm::Pdf, *request.waiting);
    if (!letter) return http::problem(letter.error());
    FhirSubject subject;
    subject.family = planned->note("patient", "name");
    subject.birth_date = planned->note("patient", "born");
    subject.identifier = planned->note("patient", "reference");
    subject.issued = utc_now();
    const auto bundle = fhir_bundle(*planned->plan, subject, *letter);
    if (!bundle) return http::problem(bundle.error());
    return download(bundle->dump(1) + "\n", "fhir", planned->id(), "json");
}

/// The study of a case's scan; empty when it has none. One that was kept before studies were is
/// asked for it.
DicomStudy study_of(const Workspace& workspace, const std::string& scan, const Progress& progress) {
    const auto kept = workspace.scans->find(scan);
    if (!kept || !kept->study.study_uid.empty() || kept->series_uid.empty())
        return kept ? kept->study : DicomStudy();
    const auto opened = workspace.scans->open(scan, progress);
    return opened ? (*opened)->study : DicomStudy();
}

Result<std::vector<DicomObject>> objects_of(const Workspace& workspace, const PlannedCase& planned,
                                            const Progress& progress) {
    const auto letter = letter_bytes(workspace, planned, LetterForm::Pdf, progress);
    if (!letter) return tl::unexpected(letter.error());
    const Brick brick = brick_of(workspace, *planned.work, progress);
    DicomSubject subject;
    subject.study = study_of(workspace, planned.work->record.scan, progress);
    if (subject.study.study_uid.empty()) {
        subject.family = planned.note("patient", "name");
        subject.birth_date = planned.note("patient", "born");
        subject.identifier = planned.note("patient", "reference");
    }
    return plan_objects(*planned.plan, subject, *letter, brick.grey.empty() ? nullptr : &brick);
}

http::Response get_dicom(Workspace& workspace, const http::Request& request) {
    return made_in_turn(workspace, [&] {
        const auto planned = planned_case(workspace, request.parameters.at("id"), *request.waiting);
        if (!planned) return http::problem(planned.error());
        const auto objects = objects_of(workspace, *planned, *request.waiting);
        if (!objects) return http::problem(objects.error());
        const fs::path file = draft_of(workspace, "zip");
        auto zip = record::ZipWriter::begin(file);
        if (!zip) return http::problem(zip.error());
        for (const DicomObject& object : *objects) {
            if (auto added = zip->add(object.name, object.bytes); !added)
                return http::problem(added.error());
        }
        if (auto done = zip->finish(*request.waiting); !done) return http::problem(done.error());
        return send_file(file, "dicom", planned->id());
    });
}

// ---- a tooth to practise on ----

Result<ModelOptions> model_options_of(const http::Request& request) {
    ModelOptions options;
    const std::string body = request.query_value("body").value_or("tooth");
    if (body != "tooth" && body != "block")
        return fail(ErrorCode::BadInput, "is not a body", "body", "give tooth or block");
    options.body = body == "block" ? ModelBody::Block : ModelBody::Tooth;
    const std::string scale = request.query_value("scale").value_or("1");
    const auto end = std::from_chars(scale.data(), scale.data() + scale.size(), options.scale);
    if (end.ec != std::errc() || end.ptr != scale.data() + scale.size())
        return fail(ErrorCode::BadInput, "is not a number", "scale", "give 0.5 to 20");
    return options;
}

http::Response get_model(Workspace& workspace, const http::Request& request) {
    const std::string& id = request.parameters.at("id");
    const auto options = model_options_of(request);
    if (!options) return http::problem(options.error());
    const auto work = workspace.cases->find(id);
    if (!work) return http::problem(work.error());
    const bool stl = request.path.ends_with(".stl");
    return made_in_turn(workspace, [&] {
        const auto model = practice_model((*work)->tooth, *options, *request.waiting);
        if (!model) return http::problem(model.error());
        std::string note = "For practice and teaching only: not a copy to treat by.";
        if ((*work)->tooth.invented) note += " The tooth is invented.";
        auto bytes = print_file(model->surface, stl ? PrintFormat::Stl : PrintFormat::ThreeMf,
                                "Practice tooth " + (*work)->tooth.fdi, note);
        if (!bytes) return http::problem(bytes.error());
        return download(std::move(*bytes), "model", id, stl ? "stl" : "3mf");
    });
}

// ---- all of a case ----

http::Response get_archive(Workspace& workspace, const http::Request& request) {
    const std::string& id = request.parameters.at("id");
    const auto entry = workspace.record->cases().find(id);
    if (!entry) return http::problem(entry.error());
    return made_in_turn(workspace, [&] {
        std::vector<record::BesideFile> beside;
        if (!entry->scan.empty() && request.query_value("scan").value_or("yes") != "no") {
            auto files = scan_files(*workspace.record, entry->scan);
            if (!files) {
                // Where it lay is a path of this machine.
                return http::problem({files.error().code, files.error().what, "scan",
                                      "put it back, or archive the case without its scan"});
            }
            beside = std::move(*files);
        }
        const fs::path file = draft_of(workspace, "zip");
        const auto report =
            record::export_case(*workspace.record, id, beside, file, *request.waiting);
        if (!report) return http::problem(report.error());
        return send_file(file, "archive", id);
    });
}

/// Takes in what get_archive gave, here or elsewhere.
http::Response post_archive(Workspace& workspace, const http::Request& request) {
    return made_in_turn(workspace, [&] {
        const auto archive = record::CaseArchive::open(
            request.body_file, workspace.directory->uploads(), workspace.stopping);
        if (!archive) {
            // The sender does not know our name for it.
            Error error = archive.error();
            if (error.where == request.body_file.string()) error.where = "the file";
            return http::problem(error);
        }
        const auto report = (*archive)->put_into(*workspace.record);
        if (!report) return http::problem(report.error());
        if (auto adopted = adopt_scan_files(*workspace.record, (*archive)->scan_id(),
                                            (*archive)->beside(), workspace.stopping);
            !adopted)
            return http::problem(adopted.error());
        return json_response(report->was_there ? 200 : 201,
                             {{"case", report->case_id}, {"was_there", report->was_there}});
    });
}

}  // namespace

void add_exchange_routes(http::Router& router, Workspace& workspace) {
    const RouteAdder add(router, workspace);
    add("GET", "/api/cases/{id}/fhir.json", get_fhir);
    add("GET", "/api/cases/{id}/dicom.zip", get_dicom);
    add("GET", "/api/cases/{id}/model.stl", get_model);
    add("GET", "/api/cases/{id}/model.3mf", get_model);
    add("GET", "/api/cases/{id}/archive.zip", get_archive);
    add("POST", "/api/archives", post_archive,
        http::BodyRule::file(workspace.directory->uploads(), workspace.options.upload_limit_bytes));
}

}  // namespace anfract::server
