#include <nlohmann/json.hpp>

#include "anfract/http/problem.h"
#include "anfract/record/look.h"
#include "doorkeeper.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;

namespace {

/// What is asked of an account; what is left out stays as it is.
struct Wish {
    std::string own_password;
    std::optional<std::string> password;
    std::optional<record::Role> role;
    std::optional<bool> disabled;
};

Result<Wish> wish_of(const json& body) {
    Wish wish;
    const auto own = text_of(body, "own_password");
    if (!own) return tl::unexpected(own.error());
    wish.own_password = *own;
    const auto password = optional_text(body, "password"), role = optional_text(body, "role");
    if (!password) return tl::unexpected(password.error());
    if (!role) return tl::unexpected(role.error());
    wish.password = *password;
    if (*role) {
        wish.role = record::role_of(**role);
        if (!wish.role)
            return fail(ErrorCode::BadInput, "is not clinician, assistant or reader", "role",
                        "give one of them");
    }
    const auto disabled = body.find("disabled");
    if (disabled != body.end()) {
        if (!disabled->is_boolean())
            return fail(ErrorCode::BadInput, "is not true or false", "disabled", "give one");
        wish.disabled = disabled->get<bool>();
    }
    return wish;
}

Result<void> carry_out(const record::Accounts& accounts, const std::string& name,
                       const Wish& wish) {
    if (wish.password) {
        if (auto done = accounts.set_password(name, *wish.password); !done) return done;
    }
    if (wish.role) {
        if (auto done = accounts.set_role(name, *wish.role); !done) return done;
    }
    return wish.disabled ? accounts.set_disabled(name, *wish.disabled) : Result<void>();
}

/// What the access trail says of it.
std::string told(const Wish& wish) {
    std::string text = "account changed:";
    if (wish.password) text += " password";
    if (wish.role) text += " role " + to_string(*wish.role);
    if (wish.disabled) text += *wish.disabled ? " disabled" : " enabled";
    return text;
}

}  // namespace

http::Response Doorkeeper::accounts() const {
    const auto all = record_.accounts().list();
    if (!all) return http::problem(all.error());
    json list = json::array();
    for (const record::Account& one : *all) {
        list.push_back({{"name", one.name},
                        {"role", to_string(one.role)},
                        {"created", one.created},
                        {"disabled", one.disabled}});
    }
    return json_response(200, {{"accounts", list}});
}

http::Response Doorkeeper::add_account(const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const auto wish = wish_of(*body);
    if (!wish) return http::problem(wish.error());
    const auto name = text_of(*body, "name"), password = text_of(*body, "password");
    if (!name) return http::problem(name.error());
    if (!password) return http::problem(password.error());
    if (!wish->role)
        return http::problem(
            {ErrorCode::BadInput, "is missing", "role", "give clinician, assistant or reader"});
    const std::lock_guard one_at_a_time(hashing_);
    if (auto refusal = refuse_unless_own(request, wish->own_password)) return std::move(*refusal);
    if (auto added = record_.accounts().add(*name, *wish->role, *password); !added)
        return http::problem(added.error());
    (void)record::record_look(record_.access(), request.user,
                              "account added: role " + to_string(*wish->role), *name);
    return accounts();
}

http::Response Doorkeeper::change_account(const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const auto wish = wish_of(*body);
    if (!wish) return http::problem(wish.error());
    const std::string& name = request.parameters.at("name");
    // Nobody shuts themselves out; one's own password has a route of its own.
    if (name == request.user)
        return http::problem({ErrorCode::BadInput, "is your own account", name,
                              "change your own password under your name"});
    const std::lock_guard one_at_a_time(hashing_);
    if (auto refusal = refuse_unless_own(request, wish->own_password)) return std::move(*refusal);
    if (auto done = carry_out(record_.accounts(), name, *wish); !done)
        return http::problem(done.error());
    (void)record::record_look(record_.access(), request.user, told(*wish), name);
    return accounts();
}

}  // namespace anfract::server
