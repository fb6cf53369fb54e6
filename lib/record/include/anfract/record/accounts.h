#pragma once

#include <optional>
#include <string>
#include <vector>

#include "anfract/base/result.h"
#include "anfract/record/store.h"

namespace anfract::record {

/// What somebody may do; each may also do what those before it may.
enum class Role {
    Reader,     ///< look
    Assistant,  ///< log at the chair, keep the stock, take in scans and pictures
    Clinician,  ///< decide: trace, correct, plan, diagnose, remove
};

std::string to_string(Role role);
std::optional<Role> role_of(const std::string& text);

/// Somebody who may sign in.
struct Account {
    std::string name;
    Role role = Role::Reader;
    std::string created;   ///< UTC, ISO 8601
    std::string changed;   ///< when the password or the role was set; ends sessions begun before
    std::string disabled;  ///< since when it may not be used; empty: it may
};

/// Who may use the record over the network. While there is no account nobody has to sign in. An
/// account is never removed, since entries bear its name; it is disabled.
class Accounts {
  public:
    explicit Accounts(const Store& store) : store_(store) {}

    /// Errors: BadInput (name or password that will not do), Conflict (there is one of that name).
    Result<void> add(const std::string& name, Role role, const std::string& password) const;

    Result<std::vector<Account>> list() const;  ///< by name

    /// Whether there is any, and the one of that name.
    struct Found {
        bool any = false;
        std::optional<Account> account;
    };
    Result<Found> find(const std::string& name) const;

    /// The account, if the password is its own and it is not disabled; takes as long (a tenth of a
    /// second) and as much memory (64 MiB) whether there is such an account or not.
    Result<std::optional<Account>> verify(const std::string& name,
                                          const std::string& password) const;

    /// Errors: NotFound, BadInput.
    Result<void> set_password(const std::string& name, const std::string& password) const;
    Result<void> set_role(const std::string& name, Role role) const;
    Result<void> set_disabled(const std::string& name, bool disabled) const;

  private:
    const Store& store_;
};

}  // namespace anfract::record
