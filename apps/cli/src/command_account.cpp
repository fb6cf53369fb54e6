#include <cstdio>
#include <memory>

#include "password.h"
#include "record_commands.h"
#include "record_options.h"

namespace anfract::cli {
namespace {

struct Options {
    RecordOptions record;
    std::string name, role = "reader", account, subject;
};

Result<record::Role> role_of(const std::string& text) {
    if (const auto role = record::role_of(text)) return *role;
    return fail(ErrorCode::BadInput, "is not clinician, assistant or reader", text,
                "give one of them");
}

Result<void> add(const Options& options, const record::Record& record) {
    const auto role = role_of(options.role);
    if (!role) return tl::unexpected(role.error());
    const auto password = new_password();
    if (!password) return tl::unexpected(password.error());
    return record.accounts().add(options.name, *role, *password);
}

Result<void> list(const Options&, const record::Record& record) {
    const auto accounts = record.accounts().list();
    if (!accounts) return tl::unexpected(accounts.error());
    for (const record::Account& one : *accounts) {
        std::printf(
            "%s  %s  since %s%s\n", one.name.c_str(), to_string(one.role).c_str(),
            one.created.substr(0, 10).c_str(),
            one.disabled.empty() ? "" : ("  disabled " + one.disabled.substr(0, 10)).c_str());
    }
    return {};
}

Result<void> disable(const Options& options, const record::Record& record) {
    return record.accounts().set_disabled(options.name, true);
}

Result<void> enable(const Options& options, const record::Record& record) {
    return record.accounts().set_disabled(options.name, false);
}

Result<void> set_password(const Options& options, const record::Record& record) {
    const auto password = new_password();
    if (!password) return tl::unexpected(password.error());
    return record.accounts().set_password(options.name, *password);
}

Result<void> set_role(const Options& options, const record::Record& record) {
    const auto role = role_of(options.role);
    if (!role) return tl::unexpected(role.error());
    return record.accounts().set_role(options.name, *role);
}

Result<void> trail(const Options& options, const record::Record& record) {
    const auto lines = record.access().lines(options.account, options.subject, 100'000);
    if (!lines) return tl::unexpected(lines.error());
    for (auto line = lines->rbegin(); line != lines->rend(); ++line) {
        std::printf("%s  %s  %s  %s\n", line->at.c_str(),
                    line->account.empty() ? "-" : line->account.c_str(), line->what.c_str(),
                    line->subject.c_str());
    }
    return {};
}

}  // namespace

void add_account_command(CLI::App& app, Action& action) {
    CLI::App* command =
        app.add_subcommand("account", "Who may use the record over the network, and who looked");
    command->require_subcommand(1);
    const auto add_one = [&](const char* name, const char* text,
                             Result<void> (*run)(const Options&, const record::Record&)) {
        return add_record_subcommand<Options>(
            *command, name, text,
            [run](const Options& options, const Progress&) -> Result<void> {
                // The first account may come before the first case.
                if (run == &add) {
                    if (auto made = make_folder(options.record.place()); !made) return made;
                }
                const auto record = run == &add ? record::Record::open(options.record.place())
                                                : options.record.open();
                if (!record) return tl::unexpected(record.error());
                return run(options, **record);
            },
            action);
    };
    add_one("list", "All accounts", list);
    for (const auto& [name, text, run] :
         {std::tuple("add", "Make an account; the password is asked for, or piped in", &add),
          std::tuple("disable", "Keep an account from signing in; ends its sessions", &disable),
          std::tuple("enable", "Let it sign in again", &enable),
          std::tuple("password", "Give it another password; ends its sessions", &set_password),
          std::tuple("role", "Give it another role; ends its sessions", &set_role)}) {
        const auto [one, options] = add_one(name, text, run);
        one->add_option("NAME", options->name, "of the account")->required();
        if (run == &add || run == &set_role)
            one->add_option("--role", options->role, "clinician, assistant or reader")->required();
    }
    {
        const auto [one, options] = add_one("trail", "Who looked at what, oldest first", trail);
        one->add_option("--account", options->account, "only of this account");
        one->add_option("--subject", options->subject, "only of this case or scan, by its id");
    }
}

}  // namespace anfract::cli
