#include "anfract/record/accounts.h"

#include <sodium.h>

#include <array>

#include "anfract/record/instant.h"
#include "rows.h"

namespace anfract::record {
using soci::into;
using soci::use;

namespace {

// NIST SP 800-63B, 5.1.1.2: at least 8 characters; ten here, since one practice has few accounts.
constexpr std::size_t least_password = 10, longest_password = 1024;
constexpr std::size_t longest_name = 64;

Error no_such_account(const std::string& name) {
    return {ErrorCode::NotFound, "there is no such account", name, "look at the list"};
}

Result<void> check_name(const std::string& name) {
    const bool plain =
        name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789.-_") == std::string::npos;
    if (!name.empty() && name.size() <= longest_name && plain) return {};
    return fail(ErrorCode::BadInput, "is not a name of an account", name,
                "use up to 64 of a to z, 0 to 9, '.', '-' and '_'");
}

/// Argon2id (RFC 9106) by libsodium, with the parameters it names for sign-in. The text holds them
/// and the salt.
Result<std::string> hash_of(const std::string& password) {
    if (password.size() < least_password || password.size() > longest_password) {
        return fail(ErrorCode::BadInput, "is not of 10 to 1024 characters", "the password",
                    "choose another one");
    }
    std::array<char, crypto_pwhash_STRBYTES> text{};
    if (sodium_init() < 0 || crypto_pwhash_str_alg(text.data(), password.data(), password.size(),
                                                   crypto_pwhash_OPSLIMIT_INTERACTIVE,
                                                   crypto_pwhash_MEMLIMIT_INTERACTIVE,
                                                   crypto_pwhash_ALG_ARGON2ID13) != 0) {
        return fail(ErrorCode::Io, "there is not enough memory for the password", "",
                    "close other programs");
    }
    return std::string(text.data());
}

bool fits(const std::string& hash, const std::string& password) {
    return sodium_init() >= 0 && password.size() <= longest_password &&
           crypto_pwhash_str_verify(hash.c_str(), password.data(), password.size()) == 0;
}

/// Of no password that anyone knows, for names that have no account.
const std::string& nobodys_hash() {
    static const std::string hash = [] {
        std::string secret(32, '\0');
        randombytes_buf(secret.data(), secret.size());
        return hash_of(secret).value_or("");
    }();
    return hash;
}

struct Row {
    Account account;
    std::string role, password;
};

std::optional<Row> row_of(soci::session& sql, const std::string& name) {
    Row row;
    row.account.name = name;
    sql << "SELECT role, password, created, changed, disabled FROM accounts WHERE name = :name",
        use(name), into(row.role), into(row.password), into(row.account.created),
        into(row.account.changed), into(row.account.disabled);
    if (!sql.got_data()) return std::nullopt;
    // A role that is not known may do least.
    row.account.role = role_of(row.role).value_or(Role::Reader);
    return row;
}

/// Runs an UPDATE of one account. @param statement  with :value, :changed and :name, in this order
Result<void> change(const Store& store, const std::string& statement, const std::string& value,
                    const std::string& name) {
    return store.write([&](soci::session& sql) -> Result<void> {
        if (!row_of(sql, name)) return tl::unexpected(no_such_account(name));
        const std::string now = now_text();
        sql << statement, use(value), use(now), use(name);
        return {};
    });
}

}  // namespace

std::string to_string(Role role) {
    switch (role) {
        case Role::Reader:
            return "reader";
        case Role::Assistant:
            return "assistant";
        case Role::Clinician:
            return "clinician";
    }
    return "reader";
}

std::optional<Role> role_of(const std::string& text) {
    for (const Role role : {Role::Reader, Role::Assistant, Role::Clinician}) {
        if (to_string(role) == text) return role;
    }
    return std::nullopt;
}

Result<void> Accounts::add(const std::string& name, Role role, const std::string& password) const {
    if (auto good = check_name(name); !good) return good;
    const Result<std::string> hash = hash_of(password);
    if (!hash) return tl::unexpected(hash.error());
    return store_.write([&](soci::session& sql) -> Result<void> {
        if (row_of(sql, name)) {
            return fail(ErrorCode::Conflict, "there is an account of that name", name,
                        "choose another name");
        }
        const std::string text = to_string(role), now = now_text();
        sql << "INSERT INTO accounts (name, role, password, created, changed, disabled)"
               " VALUES (:name, :role, :password, :created, :changed, '')",
            use(name), use(text), use(*hash), use(now), use(now);
        return {};
    });
}

Result<std::vector<Account>> Accounts::list() const {
    return store_.read([&](soci::session& sql) -> Result<std::vector<Account>> {
        std::vector<Account> accounts;
        Account account;
        std::string role;
        soci::statement query =
            (sql.prepare << "SELECT name, role, created, changed, disabled FROM accounts"
                            " ORDER BY name",
             into(account.name), into(role), into(account.created), into(account.changed),
             into(account.disabled));
        query.execute();
        while (query.fetch()) {
            account.role = role_of(role).value_or(Role::Reader);
            accounts.push_back(account);
        }
        return accounts;
    });
}

Result<Accounts::Found> Accounts::find(const std::string& name) const {
    return store_.read([&](soci::session& sql) -> Result<Found> {
        Found found;
        long long count = 0;
        sql << "SELECT COUNT(*) FROM accounts", into(count);
        found.any = count > 0;
        if (!found.any || name.empty()) return found;
        if (auto row = row_of(sql, name)) found.account = row->account;
        return found;
    });
}

Result<std::optional<Account>> Accounts::verify(const std::string& name,
                                                const std::string& password) const {
    const auto row = store_.read(
        [&](soci::session& sql) -> Result<std::optional<Row>> { return row_of(sql, name); });
    if (!row) return tl::unexpected(row.error());
    const bool good = fits(*row ? (*row)->password : nobodys_hash(), password);
    if (!good || !*row || !(*row)->account.disabled.empty()) return std::optional<Account>();
    return std::optional<Account>((*row)->account);
}

Result<void> Accounts::set_password(const std::string& name, const std::string& password) const {
    const Result<std::string> hash = hash_of(password);
    if (!hash) return tl::unexpected(hash.error());
    return change(store_,
                  "UPDATE accounts SET password = :value, changed = :changed WHERE name = :name",
                  *hash, name);
}

Result<void> Accounts::set_role(const std::string& name, Role role) const {
    return change(store_,
                  "UPDATE accounts SET role = :value, changed = :changed WHERE name = :name",
                  to_string(role), name);
}

Result<void> Accounts::set_disabled(const std::string& name, bool disabled) const {
    return change(store_,
                  "UPDATE accounts SET disabled = :value, changed = :changed WHERE name = :name",
                  disabled ? now_text() : "", name);
}

}  // namespace anfract::record
