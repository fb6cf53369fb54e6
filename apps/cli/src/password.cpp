#include "password.h"

#include <termios.h>
#include <unistd.h>

#include <cstdio>
#include <iostream>
#include <mutex>
#include <optional>

namespace anfract::cli {

namespace {

std::mutex terminal_mutex;
std::optional<termios> terminal_before;  ///< while what is typed is hidden

void hide_typing() {
    const std::lock_guard lock(terminal_mutex);
    termios now{};
    if (::tcgetattr(STDIN_FILENO, &now) != 0) return;
    terminal_before = now;
    now.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &now);
}

}  // namespace

void show_typing() {
    const std::lock_guard lock(terminal_mutex);
    if (!terminal_before) return;
    ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &*terminal_before);
    terminal_before.reset();
    std::fprintf(stderr, "\n");
}

std::string hidden_line(const char* prompt) {
    if (::isatty(STDIN_FILENO) == 1) {
        std::fprintf(stderr, "%s: ", prompt);
        hide_typing();
    }
    std::string line;
    std::getline(std::cin, line);
    show_typing();
    return line;
}

Result<std::string> new_password(const char* prompt) {
    std::string password = hidden_line(prompt);
    if (::isatty(STDIN_FILENO) == 1 && hidden_line("the same again") != password)
        return fail(ErrorCode::BadInput, "the two are not the same", prompt, "try again");
    return password;
}

}  // namespace anfract::cli
