#pragma once

#include <chrono>
#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "anfract/http/router.h"
#include "anfract/record/access_trail.h"
#include "anfract/record/record.h"

namespace anfract::server {

/// Who is signed in, who may what, and what was looked at. While the record has no account
/// everybody may everything, which is only so on loopback. All members may be called from any
/// thread.
///
/// Sessions live in memory: a restart asks for the password again. A session ends after two hours
/// without a request, after twelve hours, and when the account is changed.
class Doorkeeper {
  public:
    using Clock = std::chrono::steady_clock;
    /// @param secure  whether connections are encrypted: cookies then are never sent over others
    Doorkeeper(const record::Record& record, bool secure,
               std::function<Clock::time_point()> now = Clock::now);

    /// The guard of the server: lets a request go on, with `user` filled in, or refuses it.
    std::optional<http::Response> admit(http::Request& request, const http::Route& route);

    /// Records what a route that shows patients shows, before the answer leaves. While the disk has
    /// no room the lines wait in memory, up to a bound beyond which nothing more is shown.
    http::Handler recorded(const http::Route& route, http::Handler handler);

    // The routes of /api/session.
    http::Response session(const http::Request& request);
    http::Response sign_in(const http::Request& request);
    http::Response sign_out(const http::Request& request);
    http::Response change_password(const http::Request& request);

    // The routes of /api/accounts. Who changes something there gives their own password again.
    http::Response accounts() const;
    http::Response add_account(const http::Request& request);
    http::Response change_account(const http::Request& request);

  private:
    struct Session {
        std::string account, changed;  ///< as the account was when it signed in
        Clock::time_point begun, used;
    };
    struct Failures {
        int count = 0;
        Clock::time_point until;  ///< refused till then, and forgotten some time after
    };

    std::string token_of(const http::Request& request) const;
    std::string cookie(const std::string& token, bool ends) const;
    /// The account of the session of a request, if there is one that holds.
    Result<record::Accounts::Found> account_of(const http::Request& request);
    http::Response begin(const record::Account& account);
    /// Nothing when the password is that of who asks; else the refusal. @pre `hashing_` is held
    std::optional<http::Response> refuse_unless_own(const http::Request& request,
                                                    const std::string& password);
    std::optional<http::Response> too_many_tries(const std::string& key);
    void count_failure(const std::string& key);
    Result<void> keep_look(const std::string& account, const std::string& what,
                           const std::string& subject);

    const record::Record& record_;
    bool secure_;
    std::function<Clock::time_point()> now_;
    std::mutex mutex_;
    std::map<std::string, Session> sessions_;  ///< by the hash of their token
    std::map<std::string, Failures> failures_;
    std::mutex looks_mutex_;
    std::vector<record::Access> waiting_looks_;  ///< that the disk had no room for
    std::mutex hashing_;                         ///< one password at a time, each takes 64 MiB
};

}  // namespace anfract::server
