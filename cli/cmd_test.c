/* coat test: what a finger, paper or thumb said of a coat. */
#include "cli/say.h"

#include <string.h>

static const struct {
    const char *word;
    bool passed;
} verdicts[] = {{"pass", true}, {"passed", true}, {"fail", false}, {"failed", false}};

static int add_verdict(const struct cli *cli, cJSON *body, const char *word)
{
    for (size_t i = 0; i < sizeof verdicts / sizeof *verdicts; i++) {
        if (strcmp(verdicts[i].word, word) != 0)
            continue;
        doc_put(body, "passed", cJSON_CreateBool(verdicts[i].passed));
        return CLI_DONE;
    }
    return cli_fail(cli, CLI_USAGE, "\"%.60s\" does not say how it went: write pass or fail", word);
}

static int add_stage(const struct cli *cli, cJSON *body, const char *word)
{
    struct text list = {0};
    if (word_is_among(word, stage_words)) {
        doc_put_text(body, "stage", word);
        return CLI_DONE;
    }
    words_list(&list, stage_words);
    return cli_fail(cli, CLI_USAGE, "\"%.60s\" is no stage: write %s", word, list.data);
}

static void say_tested(struct cli *cli)
{
    const cJSON *document = cli->reply.document, *coat = doc_get(document, "coat"), *stage = NULL;
    const char *tested = doc_text(document, "test.stage");
    struct text head = {0};
    text_add(&head, "%lld tested ", (long long)doc_id(coat, "id"));
    say_moment(cli, &head, doc_moment(document, "test.at"));
    text_add(&head, ", %s %s: ", tested, doc_flag(document, "test.passed") ? "passed" : "failed");
    say_coat(cli, &head, coat);
    render_text(&cli->out, 0, 4, head.data);
    cJSON_ArrayForEach(stage, doc_get(coat, "stages"))
    {
        struct text phrase = {0}, line = {0};
        if (strcmp(doc_text(stage, "stage"), tested) != 0)
            continue;
        say_stage(cli, &phrase, stage);
        text_add(&line, "%s, by its hours: %s %s", tested, doc_text(stage, "state"), phrase.data);
        render_text(&cli->out, 4, 6, line.data);
    }
    say_cautions(cli, document, doc_get(coat, "cautions"), 0);
}

int cmd_test(struct cli *cli)
{
    const char *const *word = cli->args.argument;
    int64_t id = 0;
    int status = cli_parse_coat(cli, word[0], &id);
    cJSON *body = cJSON_CreateObject();
    if (status == CLI_DONE)
        status = add_stage(cli, body, word[1]);
    if (status == CLI_DONE)
        status = add_verdict(cli, body, word[2]);
    if (status == CLI_DONE)
        status = cli_open_shop(cli);
    if (status == CLI_DONE)
        status = cli_add_fields(cli, body);
    status = cli_send_filled(cli, status, "POST", body, "/coats/%lld/tests", (long long)id);
    if (status == CLI_DONE && !cli_said_json(cli))
        say_tested(cli);
    return status;
}
