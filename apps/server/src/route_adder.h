#pragma once

#include <string>
#include <utility>

#include "workspace.h"

namespace anfract::server {

/// Adds routes that are answered by functions of the workspace.
class RouteAdder {
  public:
    RouteAdder(http::Router& router, Workspace& workspace)
        : router_(router), workspace_(workspace) {}

    using Answer = http::Response (*)(Workspace&, const http::Request&);
    void operator()(const std::string& method, const std::string& pattern, Answer answer,
                    http::BodyRule body = http::BodyRule::none()) const {
        router_.add(
            method, pattern,
            [&workspace = workspace_, answer](http::Request& request) {
                return answer(workspace, request);
            },
            std::move(body));
    }

  private:
    http::Router& router_;
    Workspace& workspace_;
};

}  // namespace anfract::server
