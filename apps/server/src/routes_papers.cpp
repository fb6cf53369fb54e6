#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "anfract/server/discharge_values.h"
#include "planned_case.h"
#include "route_adder.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// The file's ending in the address, as the route has it: "pdf" or "html".
std::string ending_of(const http::Request& request) {
    return request.path.substr(request.path.rfind('.') + 1);
}

LetterForm form_of(const http::Request& request) {
    return ending_of(request) == "pdf" ? LetterForm::Pdf : LetterForm::Html;
}

http::Response answer(const http::Request& request, Result<std::string> page,
                      const std::string& kind) {
    if (!page) return http::problem(page.error());
    return download(std::move(*page), kind, request.parameters.at("id"), ending_of(request));
}

http::Response get_letter(Workspace& workspace, const http::Request& request) {
    const auto planned = planned_case(workspace, request.parameters.at("id"));
    if (!planned) return http::problem(planned.error());
    http::Response response =
        answer(request, letter_bytes(workspace, *planned, form_of(request)), "letter");
    // Only the PDF: a page of ours would not let the HTML's own look pass.
    if (response.status == 200 && ending_of(request) == "pdf" && request.query_value("show"))
        response.set("Content-Disposition", "inline; filename=\"anfract-letter.pdf\"");
    return response;
}

http::Response get_leaflet(Workspace& workspace, const http::Request& request) {
    const auto planned = planned_case(workspace, request.parameters.at("id"));
    if (!planned) return http::problem(planned.error());
    const Letter letter = letter_for(workspace, planned->notes, planned->plan->invented);
    return answer(request,
                  leaflet(*planned->plan, letter, request.query_value("language").value_or("en"),
                          form_of(request)),
                  "leaflet");
}

http::Response get_discharge(Workspace& workspace, const http::Request& request) {
    const std::string& id = request.parameters.at("id");
    const auto values = discharge_values(*workspace.record, id);
    if (!values) return http::problem(values.error());
    const auto notes = workspace.record->notes().find(id);
    if (!notes) return http::problem(notes.error());
    const Letter letter = letter_for(workspace, notes->notes, values->at("invented"));
    const auto page = built_in_template("discharge.en");
    if (!page) return http::problem(page.error());
    return answer(request, discharge_letter(*values, *page, letter, "en", form_of(request)),
                  "discharge");
}

}  // namespace

void add_paper_routes(http::Router& router, Workspace& workspace) {
    const RouteAdder add(router, workspace);
    for (const std::string ending : {"pdf", "html"}) {
        add("GET", "/api/cases/{id}/letter." + ending, get_letter);
        add("GET", "/api/cases/{id}/leaflet." + ending, get_leaflet);
        add("GET", "/api/cases/{id}/discharge." + ending, get_discharge);
    }
}

}  // namespace anfract::server
