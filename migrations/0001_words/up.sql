-- The words of the trade, spelt as everywhere else. Domains over text: a new word is one ALTER, and no cast is needed.
-- Trigrams: a name is found although it is misspelt.
CREATE EXTENSION IF NOT EXISTS pg_trgm;
CREATE DOMAIN stage AS text
    CONSTRAINT stage_known CHECK (VALUE IN ('intake', 'diagnosis', 'approval', 'bench', 'leak_test', 'pickup', 'closed'));
COMMENT ON DOMAIN stage IS 'Where a work order stands; the order of the values is the order of the shop.';
CREATE DOMAIN move_reason AS text
    CONSTRAINT move_reason_known CHECK (VALUE IN ('checked_in', 'examination_begins', 'quote_sent', 'covered_beforehand', 'nothing_to_do', 'accepted', 'extra_declined', 'recalled', 'questions', 'expired', 'declined', 'extra_work', 'acceptance_disputed', 'bench_done', 'test_failed', 'tests_passed', 'overridden', 'withdrawn', 'unanswered', 'not_repairable', 'sent_back', 'reopened', 'collected', 'shipped', 'otherwise_settled', 'entered_by_mistake'));
COMMENT ON DOMAIN move_reason IS 'Why an order moved: the third part of a move of the table in DOMAIN.md.';
CREATE DOMAIN staff_role AS text
    CONSTRAINT staff_role_known CHECK (VALUE IN ('front_desk', 'technician', 'proprietor'));
COMMENT ON DOMAIN staff_role IS 'What a staff member may do; one person may hold several.';
CREATE DOMAIN hold_reason AS text
    CONSTRAINT hold_reason_known CHECK (VALUE IN ('parts', 'outside_work', 'customer', 'school_calendar', 'other'));
COMMENT ON DOMAIN hold_reason IS 'Why an order is held, across stages.';
CREATE DOMAIN family AS text
    CONSTRAINT family_known CHECK (VALUE IN ('trumpet', 'cornet', 'flugelhorn', 'horn', 'trombone', 'baritone', 'tuba', 'flute', 'clarinet', 'oboe', 'bassoon', 'saxophone', 'other'));
COMMENT ON DOMAIN family IS 'The families of instruments that the shop takes in.';
CREATE DOMAIN mark_kind AS text
    CONSTRAINT mark_kind_known CHECK (VALUE IN ('dent', 'scratch', 'crack', 'lacquer_gone', 'stuck', 'missing'));
COMMENT ON DOMAIN mark_kind IS 'What the front desk and the customer agreed the instrument looked like.';
CREATE DOMAIN finding_kind AS text
    CONSTRAINT finding_kind_known CHECK (VALUE IN ('crack', 'open_joint', 'dent', 'bent', 'slide', 'out_of_round', 'plating_loss', 'lacquer_loss', 'red_rot', 'pitting', 'earlier_repair', 'leaking_pad', 'worn_cork', 'broken_spring', 'bent_key', 'lost_motion', 'keys_not_together', 'key_height', 'seized_screw', 'chipped_tone_hole', 'loose_tenon', 'wood_crack', 'valve', 'valve_alignment', 'linkage', 'stuck_mouthpiece', 'other'));
COMMENT ON DOMAIN finding_kind IS 'What an examination turns up.';
CREATE DOMAIN leaks AS text
    CONSTRAINT leaks_known CHECK (VALUE IN ('yes', 'no', 'not_tested'));
COMMENT ON DOMAIN leaks IS 'Whether a finding leaks.';
CREATE DOMAIN found_when AS text
    CONSTRAINT found_when_known CHECK (VALUE IN ('first_examination', 'taken_apart', 'on_the_bench', 'at_the_test'));
COMMENT ON DOMAIN found_when IS 'When a finding was made.';
CREATE DOMAIN disposition AS text
    CONSTRAINT disposition_known CHECK (VALUE IN ('undecided', 'repair', 'leave_and_watch', 'another_visit', 'declined'));
COMMENT ON DOMAIN disposition IS 'What is to be done about a finding.';
CREATE DOMAIN operation_kind AS text
    CONSTRAINT operation_kind_known CHECK (VALUE IN ('work', 'take_apart', 'put_together'));
COMMENT ON DOMAIN operation_kind IS 'What an operation is in the order of work.';
CREATE DOMAIN heat AS text
    CONSTRAINT heat_known CHECK (VALUE IN ('none', 'solder', 'braze'));
COMMENT ON DOMAIN heat IS 'How hot an operation gets.';
CREATE DOMAIN operation_state AS text
    CONSTRAINT operation_state_known CHECK (VALUE IN ('planned', 'running', 'paused', 'done', 'struck'));
COMMENT ON DOMAIN operation_state IS 'Where an operation stands.';
CREATE DOMAIN test_kind AS text
    CONSTRAINT test_kind_known CHECK (VALUE IN ('leak_test', 'play_test'));
COMMENT ON DOMAIN test_kind IS 'What kind of test.';
CREATE DOMAIN test_method AS text
    CONSTRAINT test_method_known CHECK (VALUE IN ('finger_and_blow', 'bubbles', 'smoke', 'leak_light', 'feeler', 'pressure_decay', 'played'));
COMMENT ON DOMAIN test_method IS 'How it was tested.';
CREATE DOMAIN verdict AS text
    CONSTRAINT verdict_known CHECK (VALUE IN ('passed', 'failed'));
COMMENT ON DOMAIN verdict IS 'What a test said.';
CREATE DOMAIN customer_kind AS text
    CONSTRAINT customer_kind_known CHECK (VALUE IN ('person', 'school', 'dealer'));
COMMENT ON DOMAIN customer_kind IS 'What a customer is.';
CREATE DOMAIN mail_wanted AS text
    CONSTRAINT mail_wanted_known CHECK (VALUE IN ('every_change', 'only_when_asked'));
COMMENT ON DOMAIN mail_wanted IS 'Which letters a customer wants.';
CREATE DOMAIN quote_state AS text
    CONSTRAINT quote_state_known CHECK (VALUE IN ('draft', 'sent', 'answered', 'superseded', 'struck', 'expired'));
COMMENT ON DOMAIN quote_state IS 'Where a quote version stands.';
CREATE DOMAIN answer AS text
    CONSTRAINT answer_known CHECK (VALUE IN ('accepted', 'declined', 'questions'));
COMMENT ON DOMAIN answer IS 'What the owner said.';
CREATE DOMAIN answer_how AS text
    CONSTRAINT answer_how_known CHECK (VALUE IN ('link', 'phone', 'in_person', 'beforehand'));
COMMENT ON DOMAIN answer_how IS 'How an answer reached the shop.';
CREATE DOMAIN payment_kind AS text
    CONSTRAINT payment_kind_known CHECK (VALUE IN ('deposit', 'balance', 'account'));
COMMENT ON DOMAIN payment_kind IS 'What a payment is for.';
CREATE DOMAIN payment_how AS text
    CONSTRAINT payment_how_known CHECK (VALUE IN ('cash', 'card', 'transfer', 'account'));
COMMENT ON DOMAIN payment_how IS 'How it was paid.';
CREATE DOMAIN letter_state AS text
    CONSTRAINT letter_state_known CHECK (VALUE IN ('waiting', 'sending', 'sent', 'unknown', 'bounced', 'given_up', 'not_wanted'));
COMMENT ON DOMAIN letter_state IS 'Where a letter stands.';
CREATE DOMAIN link_purpose AS text
    CONSTRAINT link_purpose_known CHECK (VALUE IN ('status', 'answer'));
COMMENT ON DOMAIN link_purpose IS 'What a customer''s link opens.';
