#include "doorkeeper.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "access_rules.h"
#include "anfract/http/problem.h"
#include "anfract/record/hash.h"
#include "anfract/record/instant.h"
#include "anfract/record/look.h"
#include "request_json.h"

namespace anfract::server {
using nlohmann::json;
using namespace std::chrono_literals;

namespace {

constexpr auto longest_idle = 2h, longest_session = 12h;
constexpr int free_tries = 5;
constexpr std::chrono::seconds first_wait = 30s, longest_wait = 15min;
constexpr std::size_t most_kept = 10'000;  // of sessions and failures: beyond it they are tidied

http::Response sign_in_first() {
    return http::problem(401, "sign_in",
                         {ErrorCode::BadInput, "nobody is signed in", "", "sign in"});
}

http::Response wrong_password() {
    return http::problem(
        401, "wrong_password",
        {ErrorCode::BadInput, "the name or the password is wrong", "", "try again"});
}

bool is_loopback(const std::string& peer) { return peer.starts_with("127.") || peer == "::1"; }

template <class Map, class Old>
void tidy(Map& map, const Old& old) {
    if (map.size() > most_kept)
        std::erase_if(map, [&](const auto& one) { return old(one.second); });
    if (map.size() > most_kept) map.clear();
}

}  // namespace

Doorkeeper::Doorkeeper(const record::Record& record, bool secure,
                       std::function<Clock::time_point()> now)
    : record_(record), secure_(secure), now_(std::move(now)) {}

// ---- sessions ----

/// A name with the prefix __Host- is only taken from the host itself and over TLS (RFC 6265bis,
/// section 4.1.3.2).
std::string Doorkeeper::cookie(const std::string& token, bool ends) const {
    std::string text =
        (secure_ ? "__Host-anfract=" : "anfract=") + token + "; Path=/; HttpOnly; SameSite=Strict";
    if (secure_) text += "; Secure";
    return ends ? text + "; Max-Age=0" : text;
}

std::string Doorkeeper::token_of(const http::Request& request) const {
    const std::string name = secure_ ? "__Host-anfract=" : "anfract=";
    const std::string text = request.header("cookie").value_or("");
    for (std::size_t begin = 0; begin < text.size();) {
        const std::size_t end = std::min(text.find(';', begin), text.size());
        std::string_view one(text.data() + begin, end - begin);
        while (one.starts_with(' ')) one.remove_prefix(1);
        if (one.starts_with(name)) return std::string(one.substr(name.size()));
        begin = end + 1;
    }
    return "";
}

Result<record::Accounts::Found> Doorkeeper::account_of(const http::Request& request) {
    const std::string token = token_of(request);
    const std::string key = token.empty() ? "" : record::sha256_hex(token);
    std::optional<Session> session;
    {
        const std::lock_guard lock(mutex_);
        const auto found = sessions_.find(key);
        if (found != sessions_.end()) {
            const auto now = now_();
            if (now - found->second.used < longest_idle &&
                now - found->second.begun < longest_session) {
                found->second.used = now;
                session = found->second;
            } else {
                sessions_.erase(found);
            }
        }
    }
    auto found = record_.accounts().find(session ? session->account : "");
    if (!found || !found->account) return found;
    const bool holds =
        found->account->disabled.empty() && found->account->changed == session->changed;
    if (!holds) {
        found->account.reset();
        const std::lock_guard lock(mutex_);
        sessions_.erase(key);
    }
    return found;
}

std::optional<http::Response> Doorkeeper::admit(http::Request& request, const http::Route& route) {
    const auto found = account_of(request);
    if (!found) return http::problem(found.error());
    if (found->account) request.user = found->account->name;
    if (!found->any)
        return is_loopback(request.peer) ? std::nullopt : std::optional(sign_in_first());
    const auto rule = access_rules().find(route.name());
    if (rule != access_rules().end() && !rule->second.least) return std::nullopt;
    if (!found->account) return sign_in_first();
    if (rule != access_rules().end() && found->account->role >= *rule->second.least)
        return std::nullopt;
    return http::problem(
        403, "forbidden",
        {ErrorCode::BadInput,
         "an account of the role " + to_string(found->account->role) + " may not do this", "",
         "ask a clinician"});
}

http::Response Doorkeeper::session(const http::Request& request) {
    const auto found = account_of(request);
    if (!found) return http::problem(found.error());
    json body{{"accounts", found->any}, {"account", nullptr}, {"role", nullptr}};
    if (found->account) {
        body["account"] = found->account->name;
        body["role"] = to_string(found->account->role);
    }
    return json_response(200, body);
}

http::Response Doorkeeper::begin(const record::Account& account) {
    const std::string token = record::random_hex(32);
    {
        const std::lock_guard lock(mutex_);
        const auto now = now_();
        tidy(sessions_, [&](const Session& old) { return now - old.used > longest_idle; });
        sessions_[record::sha256_hex(token)] = {account.name, account.changed, now, now};
    }
    http::Response response = json_response(
        200, {{"accounts", true}, {"account", account.name}, {"role", to_string(account.role)}});
    response.set("Set-Cookie", cookie(token, false));
    return response;
}

http::Response Doorkeeper::sign_in(const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const auto name = text_of(*body, "account"), password = text_of(*body, "password");
    if (!name) return http::problem(name.error());
    if (!password) return http::problem(password.error());
    const std::lock_guard one_at_a_time(hashing_);
    for (const std::string& key : {"account " + *name, "peer " + request.peer}) {
        if (auto refusal = too_many_tries(key)) return std::move(*refusal);
    }
    const auto account = record_.accounts().verify(*name, *password);
    if (!account) return http::problem(account.error());
    if (!*account) {
        count_failure("account " + *name);
        count_failure("peer " + request.peer);
        (void)record::record_look(record_.access(), name->substr(0, 64), "sign-in refused",
                                  request.peer);
        return wrong_password();
    }
    {
        const std::lock_guard lock(mutex_);
        failures_.erase("account " + *name);
    }
    if (const auto written = record::record_look(record_.access(), *name, "sign-in", request.peer);
        !written)
        return http::problem(written.error());
    return begin(**account);
}

http::Response Doorkeeper::sign_out(const http::Request& request) {
    {
        const std::lock_guard lock(mutex_);
        sessions_.erase(record::sha256_hex(token_of(request)));
    }
    http::Response response = http::respond(204, "application/json", "");
    response.set("Set-Cookie", cookie("", true));
    return response;
}

http::Response Doorkeeper::change_password(const http::Request& request) {
    const Result<json> body = object_of(request);
    if (!body) return http::problem(body.error());
    const auto old = text_of(*body, "password"), wanted = text_of(*body, "new_password");
    if (!old) return http::problem(old.error());
    if (!wanted) return http::problem(wanted.error());
    const std::lock_guard one_at_a_time(hashing_);
    if (auto refusal = refuse_unless_own(request, *old)) return std::move(*refusal);
    if (auto done = record_.accounts().set_password(request.user, *wanted); !done)
        return http::problem(done.error());
    (void)record::record_look(record_.access(), request.user, "password changed", request.peer);
    const auto now_known = record_.accounts().find(request.user);
    if (!now_known || !now_known->account) return sign_in_first();
    return begin(*now_known->account);  // the old sessions end, this one goes on
}

// ---- tries ----

std::optional<http::Response> Doorkeeper::refuse_unless_own(const http::Request& request,
                                                            const std::string& password) {
    if (request.user.empty()) return sign_in_first();
    const std::string key = "account " + request.user;
    if (auto refusal = too_many_tries(key)) return refusal;
    const auto known = record_.accounts().verify(request.user, password);
    if (!known) return http::problem(known.error());
    if (*known) return std::nullopt;
    count_failure(key);
    return wrong_password();
}

/// After five failures of an account, or from one address, the next try has to wait half a minute,
/// and twice as long after each further failure, up to a quarter of an hour.
std::optional<http::Response> Doorkeeper::too_many_tries(const std::string& key) {
    const std::lock_guard lock(mutex_);
    const auto found = failures_.find(key);
    const auto now = now_();
    if (found == failures_.end() || now >= found->second.until) return std::nullopt;
    const auto left =
        std::chrono::duration_cast<std::chrono::seconds>(found->second.until - now) + 1s;
    http::Response response =
        http::problem(429, "too_many_tries",
                      {ErrorCode::BadInput, "too many passwords were wrong", "",
                       "try again in " + std::to_string(left.count()) + " seconds"});
    response.set("Retry-After", std::to_string(left.count()));
    return response;
}

void Doorkeeper::count_failure(const std::string& key) {
    const std::lock_guard lock(mutex_);
    const auto now = now_();
    tidy(failures_, [&](const Failures& old) { return now > old.until + longest_wait; });
    Failures& failures = failures_[key];
    if (now > failures.until + longest_wait) failures.count = 0;
    failures.until = now;
    if (++failures.count < free_tries) return;
    const int doublings = std::min(failures.count - free_tries, 5);
    failures.until = now + std::min<Clock::duration>(first_wait * (1 << doublings), longest_wait);
}

// ---- what was looked at ----

http::Handler Doorkeeper::recorded(const http::Route& route, http::Handler handler) {
    const auto rule = access_rules().find(route.name());
    if (rule == access_rules().end() || !rule->second.shows_patient) return handler;
    return [this, name = route.name(), handler = std::move(handler)](http::Request& request) {
        http::Response response = handler(request);
        if (response.status >= 300) return response;
        const auto id = request.parameters.find("id");
        const std::string subject =
            id != request.parameters.end() ? id->second : request.query_value("find").value_or("");
        if (const auto kept = keep_look(request.user, name, subject); !kept)
            return http::problem(kept.error());
        return response;
    };
}

/// A plan is not taken from somebody at the chair because the disk is full: looks that cannot be
/// written wait in memory, and are written before the next; only when many wait nothing more is
/// shown.
Result<void> Doorkeeper::keep_look(const std::string& account, const std::string& what,
                                   const std::string& subject) {
    constexpr std::size_t most_waiting = 200;
    const std::lock_guard lock(looks_mutex_);
    record::Access look;
    look.at = record::now_text();
    look.account = account;
    look.what = what;
    look.subject = subject;
    waiting_looks_.push_back(std::move(look));
    const auto written = record_.access().add(waiting_looks_);
    if (written) {
        waiting_looks_.clear();
    } else if (waiting_looks_.size() > most_waiting) {
        waiting_looks_.pop_back();
        Error error = written.error();
        error.what =
            "nothing more of a patient is shown while looks cannot be recorded: " + error.what;
        return tl::unexpected(error);
    }
    return {};
}

}  // namespace anfract::server
