#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "request_json.h"
#include "workspace.h"

namespace anfract::server {
namespace {

http::Response no_such_job(const std::string& id) {
    return http::problem({ErrorCode::NotFound, "there is no such job", id, "start it again"});
}

/// Sends a state as the event of docs/http-api.md. Returns whether more is wanted.
bool send_state(http::EventStream& stream, const JobState& state) {
    switch (state.phase) {
        case JobPhase::Queued:
        case JobPhase::Running:
            stream.send("progress",
                        nlohmann::json{{"fraction", state.fraction}, {"stage", state.stage}}.dump(),
                        true);
            return !stream.closed();
        case JobPhase::Done:
            stream.send("done", nlohmann::json{{"case", state.result}}.dump());
            break;
        case JobPhase::Failed:
            stream.send("failed", nlohmann::json{{"sentence", state.sentence}}.dump());
            break;
        case JobPhase::Cancelled:
            stream.send("cancelled", "{}");
            break;
    }
    stream.close();
    return false;
}

}  // namespace

void add_job_routes(http::Router& router, Workspace& workspace) {
    router.add("GET", "/api/jobs/{id}/events", [&workspace](http::Request& request) {
        const std::string id = request.parameters.at("id");
        if (!workspace.jobs->state(id)) return no_such_job(id);
        http::Response response;
        response.stream = [&jobs = *workspace.jobs,
                           id](const std::shared_ptr<http::EventStream>& stream) {
            const bool known = jobs.listen(
                id, [stream](const JobState& state) { return send_state(*stream, state); });
            if (!known) stream->close();
        };
        return response;
    });
    router.add("DELETE", "/api/jobs/{id}", [&workspace](http::Request& request) {
        const std::string id = request.parameters.at("id");
        return workspace.jobs->cancel(id) ? json_response(202, nlohmann::json::object())
                                          : no_such_job(id);
    });
}

}  // namespace anfract::server
