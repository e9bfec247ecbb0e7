/* Running gnuplot (src/report/plot/gnuplot.h). Compiled with _GNU_SOURCE for
 * posix_spawn_file_actions_addchdir_np, which POSIX has, without the end, since its issue of 2024.
 */
#include "report/plot/gnuplot.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define SAID_MAX 400

/* The first line of what a child says; reads on to the end so that it never waits for us. */
static void listen(int from, char said[SAID_MAX])
{
    char buffer[1024];
    size_t used = 0;
    ssize_t got;
    while ((got = read(from, buffer, sizeof buffer)) > 0 || (got < 0 && errno == EINTR)) {
        for (ssize_t i = 0; i < got && used < SAID_MAX - 1; i++) {
            said[used++] = buffer[i];
        }
    }
    said[used] = '\0';
    size_t blank = strspn(said, "\n");
    memmove(said, said + blank, used + 1 - blank);
    said[strcspn(said, "\n")] = '\0';
}

static int prepare(posix_spawn_file_actions_t *actions, const char *folder, int to)
{
    int error = posix_spawn_file_actions_addchdir_np(actions, folder);
    if (error == 0) {
        error = posix_spawn_file_actions_addopen(actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    }
    if (error == 0) {
        error = posix_spawn_file_actions_addopen(actions, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    }
    return error == 0 ? posix_spawn_file_actions_adddup2(actions, to, STDERR_FILENO) : error;
}

/* Numbers with a point and letters as they are, whatever the user's locale; no folder of fonts. */
static int spawn(pid_t *child, const char *folder, const char *script, int to)
{
    char arguments[][16] = {"gnuplot", "-d", "-e", "part='.part'"};
    char locale[] = "LC_ALL=C.UTF-8", path[4096] = "PATH=";
    char file[256];
    const char *given = getenv("PATH");
    size_t length = given ? strlen(given) : 0;
    if (length >= sizeof path - 6 || strlen(script) >= sizeof file) {
        return ENAMETOOLONG;
    }
    memcpy(path + 5, given ? given : "", length + 1);
    memcpy(file, script, strlen(script) + 1);
    char *const words[] = {arguments[0], arguments[1], arguments[2], arguments[3], file, NULL};
    char *const environment[] = {locale, path, NULL};
    posix_spawn_file_actions_t actions;
    int error = posix_spawn_file_actions_init(&actions);
    if (error != 0) {
        return error;
    }
    error = prepare(&actions, folder, to);
    error = error == 0 ? posix_spawnp(child, "gnuplot", &actions, NULL, words, environment) : error;
    (void)posix_spawn_file_actions_destroy(&actions);
    return error;
}

static enum shv_status end(pid_t child, const char *script, const char *said,
                           struct shv_message *message)
{
    int how = 0;
    pid_t ended;
    do {
        ended = waitpid(child, &how, 0);
    } while (ended < 0 && errno == EINTR);
    /* Where SIGCHLD is ignored nobody can tell how it ended; one that failed has said so. */
    bool unknown = ended < 0 && errno == ECHILD && said[0] == '\0';
    if (unknown || (ended == child && WIFEXITED(how) && WEXITSTATUS(how) == 0)) {
        return SHV_OK;
    }
    return shv_fail(message, SHV_IO, "gnuplot could not draw %s%s%s", script, said[0] ? ": " : "",
                    said);
}

enum shv_status report_gnuplot(const char *folder, const char *script, struct shv_message *message)
{
    int pipe_ends[2];
    char said[SAID_MAX];
    pid_t child;
    /* The child has its own end as standard error; another one would keep us waiting. */
    if (pipe2(pipe_ends, O_CLOEXEC) != 0) {
        return shv_fail(message, SHV_IO, "cannot start gnuplot: %s", strerror(errno));
    }
    int error = spawn(&child, folder, script, pipe_ends[1]);
    (void)close(pipe_ends[1]);
    if (error != 0) {
        (void)close(pipe_ends[0]);
        return error == ENOENT
                   ? SHV_NOTHING
                   : shv_fail(message, SHV_IO, "cannot start gnuplot: %s", strerror(error));
    }
    listen(pipe_ends[0], said);
    (void)close(pipe_ends[0]);
    return end(child, script, said, message);
}
