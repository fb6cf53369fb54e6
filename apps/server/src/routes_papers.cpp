#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "anfract/server/discharge_values.h"
#include "anfract/server/given_letter.h"
#include "planned_case.h"
#include "route_adder.h"

namespace anfract::server {

namespace {

/// A paper as it is made now, and whom it is for.
struct Paper {
    Letter letter;
    std::string bytes;
};

/// The file's ending in the address, as the route has it: "pdf" or "html".
std::string ending_of(const http::Request& request) {
    return request.path.substr(request.path.rfind('.') + 1);
}

LetterForm form_of(const http::Request& request) {
    return ending_of(request) == "pdf" ? LetterForm::Pdf : LetterForm::Html;
}

std::string language_of(const http::Request& request) {
    return request.query_value("language").value_or("en");
}

Result<Paper> paper_of(Letter letter, Result<std::string> bytes) {
    if (!bytes) return tl::unexpected(bytes.error());
    return Paper{std::move(letter), std::move(*bytes)};
}

Result<Paper> plan_letter(Workspace& workspace, const http::Request& request) {
    const auto planned = planned_case(workspace, request.parameters.at("id"), *request.waiting);
    if (!planned) return tl::unexpected(planned.error());
    return paper_of(letter_for(workspace, planned->notes, planned->plan->invented, "en"),
                    letter_bytes(workspace, *planned, form_of(request), *request.waiting));
}

Result<Paper> leaflet_of(Workspace& workspace, const http::Request& request) {
    const auto planned = planned_case(workspace, request.parameters.at("id"), *request.waiting);
    if (!planned) return tl::unexpected(planned.error());
    const std::string language = language_of(request);
    const Letter letter = letter_for(workspace, planned->notes, planned->plan->invented, language);
    return paper_of(letter, leaflet(*planned->plan, letter, language, form_of(request)));
}

Result<Paper> discharge_of(Workspace& workspace, const http::Request& request) {
    const std::string &id = request.parameters.at("id"), language = language_of(request);
    const auto page = built_in_template("discharge." + language);
    if (!page) {
        return fail(ErrorCode::BadInput, "there is no discharge letter in that language",
                    "language", "give en or de");
    }
    const auto values = discharge_values(*workspace.record, id, language);
    if (!values) return tl::unexpected(values.error());
    const auto notes = workspace.record->notes().find(id);
    if (!notes) return tl::unexpected(notes.error());
    const Letter letter = letter_for(workspace, notes->notes, values->at("invented"), language);
    const auto radiograph = newest_radiograph(*workspace.record, id);
    if (!radiograph) return tl::unexpected(radiograph.error());
    return paper_of(letter, discharge_letter(*values, {*page, language, *radiograph}, letter,
                                             form_of(request)));
}

using Make = Result<Paper> (*)(Workspace&, const http::Request&);

/// GET makes a paper; POST also keeps it with the case, as given out now.
void add_paper(http::Router& router, Workspace& workspace, const std::string& kind, Make make) {
    for (const std::string ending : {"pdf", "html"}) {
        const std::string address = "/api/cases/{id}/" + kind + "." + ending;
        const auto answer = [kind, ending](const http::Request& request, std::string bytes) {
            http::Response response =
                download(std::move(bytes), kind, request.parameters.at("id"), ending);
            // Only the PDF: a page of ours would not let the HTML's own look pass.
            if (ending == "pdf" && request.query_value("show"))
                response.set("Content-Disposition",
                             "inline; filename=\"anfract-" + kind + ".pdf\"");
            return response;
        };
        router.add("GET", address, [&workspace, make, answer](http::Request& request) {
            auto paper = make(workspace, request);
            return paper ? answer(request, std::move(paper->bytes)) : http::problem(paper.error());
        });
        router.add(
            "POST", address,
            [&workspace, make, answer, kind](http::Request& request) {
                auto paper = make(workspace, request);
                if (!paper) return http::problem(paper.error());
                const auto kept =
                    keep_given_letter(*workspace.record, request.parameters.at("id"), kind,
                                      paper->letter, paper->bytes, request.user);
                return kept ? answer(request, std::move(paper->bytes))
                            : http::problem(kept.error());
            },
            http::BodyRule::json());
    }
}

}  // namespace

void add_paper_routes(http::Router& router, Workspace& workspace) {
    add_paper(router, workspace, "letter", plan_letter);
    add_paper(router, workspace, "leaflet", leaflet_of);
    add_paper(router, workspace, "discharge", discharge_of);
}

}  // namespace anfract::server
